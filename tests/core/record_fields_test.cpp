#include "core/record_fields.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "core/rig_reader.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;

TEST(RecordFields, HaveUniqueKeysAndHelp) {
  std::set<std::string_view> kinds;
  for (const KindSpec& kind : kind_specs()) {
    EXPECT_TRUE(kinds.insert(kind.key).second) << kind.key;
    EXPECT_FALSE(kind.help.empty()) << kind.key;
    std::set<std::string_view> keys;
    for (const FieldSpec& field : kind.fields) {
      EXPECT_TRUE(keys.insert(field.key).second) << kind.key << " " << field.key;
      EXPECT_FALSE(field.help.empty()) << kind.key << " " << field.key;
    }
  }
  EXPECT_EQ(kinds.size(), 21U);
}

// `write_record_docs` (a target of this folder) prints both texts anew.
TEST(RecordFields, ManualHoldsTheTableAsItIs) {
  EXPECT_THAT(source_file("docs/records.md"), HasSubstr(record_fields_markdown()))
      << "docs/records.md is out of step: run write_record_docs";
}

TEST(RecordFields, SchemaFileIsTheSchema) {
  EXPECT_EQ(source_file("docs/record.schema.json"), record_schema_json())
      << "docs/record.schema.json is out of step: run write_record_docs";
}

// The worked example of the manual is a record that reads without a fault.
TEST(RecordFields, ExampleOfTheManualReads) {
  const std::string manual = source_file("docs/records.md");
  const std::string start = "```yaml\n";
  const std::size_t from = manual.find(start) + start.size();
  EXPECT_EQ(faults_of(manual.substr(from, manual.find("```", from) - from)), "no fault");
}

TEST(RecordSchema, NamesEveryKindAndField) {
  const auto schema = nlohmann::json::parse(record_schema_json());
  for (const KindSpec& kind : kind_specs()) {
    const auto& properties = schema.at("$defs").at(std::string(kind.key)).at("properties");
    EXPECT_EQ(properties.size(), kind.fields.size()) << kind.key;
    for (const FieldSpec& field : kind.fields) {
      EXPECT_TRUE(properties.contains(std::string(field.key))) << kind.key << " " << field.key;
    }
  }
}

// The same cases go through the JSON Schema in record_schema_test.py.
TEST(RecordSchema, ReaderAgreesOnTheStructuralCases) {
  std::istringstream cases(source_file("tests/core/structural_cases.tsv"));
  std::string line;
  int count = 0;
  while (std::getline(cases, line)) {
    if (line.empty() || line[0] == '#') {
      continue;
    }
    const std::size_t first = line.find('\t');
    const std::size_t second = line.find('\t', first + 1);
    ASSERT_NE(second, std::string::npos) << line;
    const std::string faults = faults_of(edited(
        small_record(), line.substr(first + 1, second - first - 1), line.substr(second + 1)));
    EXPECT_EQ(faults == "no fault", line.substr(0, first) == "take") << line << "\n" << faults;
    ++count;
  }
  EXPECT_GE(count, 100);
}

}  // namespace
}  // namespace firstglow::core
