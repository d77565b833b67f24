/// Writes docs/record.schema.json and the table of docs/records.md anew from the field table.

#include <fstream>
#include <iostream>
#include <string>

#include "core/record_fields.hpp"
#include "core/rig_reader.hpp"
#include "tests/core/record_texts.hpp"

int main() {
  using namespace firstglow::core;
  const std::string docs = std::string(FIRSTGLOW_SOURCE_DIR) + "/docs/";
  std::ofstream(docs + "record.schema.json", std::ios::binary) << record_schema_json();
  const std::string manual = source_file("docs/records.md");
  const std::string mark = "### Top level\n";
  const std::size_t at = manual.find(mark);
  if (at == std::string::npos) {
    std::cerr << "docs/records.md has no line '### Top level' where the table starts\n";
    return 1;
  }
  std::ofstream(docs + "records.md", std::ios::binary)
      << manual.substr(0, at) << record_fields_markdown();
  return 0;
}
