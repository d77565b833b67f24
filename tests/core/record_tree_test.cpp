#include "core/record_tree.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "core/rig_reader.hpp"
#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

RecordNode parsed(std::string_view text) {
  std::vector<InputFault> faults;
  RecordNode node = parse_record(text, faults);
  EXPECT_THAT(faults, IsEmpty());
  return node;
}

void expect_place(const SourcePosition& where, int line, int column) {
  EXPECT_EQ(where.line, line);
  EXPECT_EQ(where.column, column);
}

TEST(RecordTree, KeepsThePlaceOfEveryKeyAndValue) {
  const RecordNode root = parsed("a: 1\nb:\n  - x\n  - {c: 'y'}\n");
  ASSERT_EQ(root.children.size(), 2U);
  expect_place(root.children[0].key_where, 1, 1);
  expect_place(root.children[0].where, 1, 4);
  const RecordNode& list = root.children[1];
  ASSERT_EQ(list.children.size(), 2U);
  expect_place(list.children[0].where, 3, 5);
  const RecordNode* inner = list.children[1].find("c");
  ASSERT_NE(inner, nullptr);
  EXPECT_EQ(inner->text, "y");
  expect_place(inner->key_where, 4, 6);
  expect_place(inner->where, 4, 9);
}

TEST(RecordTree, CountsColumnsInCharactersNotBytes) {
  const RecordNode root = parsed("{n: \u00B5\u00B5\u00B5, m: x}");
  expect_place(root.find("m")->key_where, 1, 10);
}

TEST(RecordTree, TakesWindowsLineEndsAndAByteOrderMark) {
  const RecordNode root = parsed(
      "\xEF\xBB\xBF"
      "a: 1\r\nb: 2\r\n");
  EXPECT_EQ(root.find("b")->text, "2");
  expect_place(root.find("b")->where, 2, 4);
}

TEST(RecordTree, KeepsAnEmptyValueAsNothing) {
  const RecordNode root = parsed("a:\nb: ~\n");
  EXPECT_EQ(root.find("a")->shape, RecordShape::nothing);
  EXPECT_EQ(root.find("b")->shape, RecordShape::nothing);
}

struct RefusedText {
  const char* text;
  const char* start;     ///< file:line:column
  const char* fragment;  ///< of the message
};

class RefusedYaml : public testing::TestWithParam<RefusedText> {};

TEST_P(RefusedYaml, IsRefusedWithItsPlace) {
  const std::string faults = faults_of(GetParam().text);
  EXPECT_THAT(faults, StartsWith(GetParam().start));
  EXPECT_THAT(faults, HasSubstr(GetParam().fragment));
  EXPECT_THAT(faults, HasSubstr("expected"));
}

INSTANTIATE_TEST_SUITE_P(
    RecordTree, RefusedYaml,
    testing::Values(
        RefusedText{"a: &x 1\nb: 2\n", "rig.yaml:1:4: ", "a YAML anchor ('&name') is found"},
        RefusedText{"a: 1\nb: &x\n  c: 1\n", "rig.yaml:2:4: ", "YAML anchor"},
        RefusedText{"a: 1\nb: *x\n", "rig.yaml:2:4: ", "anchor is not defined"},
        RefusedText{"a: !!binary x\n", "rig.yaml:1:4: ", "YAML tag"},
        RefusedText{"a: !foo {b: 1}\n", "rig.yaml:1:4: ", "YAML tag"},
        RefusedText{"a: 1\n---\nb: 2\n", "rig.yaml:2:1: ", "a second YAML document"},
        RefusedText{"{a: 1}: 2\n", "rig.yaml:1:1: ", "a key is a map or a list"},
        RefusedText{"? [a]\n: 2\n", "rig.yaml:1:3: ", "a key is a map or a list"},
        RefusedText{"~: 2\n", "rig.yaml:1:1: ", "a key is empty"},
        RefusedText{"a: [1, 2\nb: 3\n", "rig.yaml:2:2: ", "not readable as YAML"},
        RefusedText{"a: \"x\n", "rig.yaml:1:4: ", "a quote is opened here and never closed"},
        RefusedText{"a: 'x''y\nb: 1\n", "rig.yaml:1:4: ", "opened here and never closed"},
        RefusedText{"a: \"x\\\"\nb: 1\n", "rig.yaml:1:4: ", "opened here and never closed"},
        RefusedText{"a: b: c\n", "rig.yaml:1:5: ", "not readable as YAML"},
        RefusedText{"a: \"x\\x00y\"\n", "rig.yaml:1:4: ", "a NUL byte"},
        RefusedText{"a: \"\\x1B[2J\"\n", "rig.yaml:1:4: ", "control character U+001B"},
        RefusedText{"a: 1\nb: \x01\n", "rig.yaml:2:4: ", "control character U+0001"},
        RefusedText{"a: 1\nb: x\xFFy\n", "rig.yaml:2:5: ", "byte 0xFF, which is not UTF-8"},
        RefusedText{"just words\n", "rig.yaml:1:1: ", "the record holds a text"},
        RefusedText{"- a\n- b\n", "rig.yaml:1:1: ", "the record holds a list"},
        RefusedText{"", "rig.yaml:1:1: ", "the record holds nothing"},
        RefusedText{"# only a comment\n", "rig.yaml:1:1: ", "the record holds nothing"}));

TEST(RecordTree, RefusesNulBytes) {
  EXPECT_THAT(faults_of(std::string("a: 1\nb: x\0y\n", 12)),
              StartsWith("rig.yaml:2:5: a NUL byte is found; expected UTF-8 text"));
}

// Ten aliases of ten aliases ...: the first anchor already stops it.
TEST(RecordTree, RefusesAnAliasBomb) {
  std::string bomb = "a0: &a0 [x, x]\n";
  for (int i = 1; i < 30; ++i) {
    const std::string name = "a" + std::to_string(i);
    const std::string before = "*a" + std::to_string(i - 1);
    for (const std::string& piece : {name, std::string(": &"), name, std::string(" ["), before,
                                     std::string(", "), before, std::string("]\n")}) {
      bomb += piece;
    }
  }
  EXPECT_THAT(faults_of(bomb), StartsWith("rig.yaml:1:5: a YAML anchor"));
}

TEST(RecordTree, RefusesDeepNesting) {
  const auto nested = [](int depth) {
    std::string text;
    for (int i = 0; i < depth; ++i) {
      text += "- ";
    }
    return text + "x\n";
  };
  EXPECT_THAT(faults_of(nested(kDeepestRecord)), HasSubstr("the record holds a list"));
  EXPECT_THAT(faults_of(nested(kDeepestRecord + 1)),
              StartsWith("rig.yaml:1:33: maps and lists stand more than 16 deep"));
  EXPECT_THAT(faults_of(nested(100000)), HasSubstr("more than 16 deep"));
  EXPECT_THAT(faults_of(std::string(500000, '[')), HasSubstr("rig.yaml:1:"));
}

TEST(RecordTree, RefusesTooManyElements) {
  std::string text = "a: [x";
  for (int i = 0; i < kMostRecordElements; ++i) {
    text += ",x";
  }
  EXPECT_THAT(faults_of(text + "]\n"), HasSubstr("more than 20000 keys and values"));
}

// One byte inside and one byte outside the limit.
TEST(RecordTree, RefusesATooLargeFile) {
  const std::string record = small_record() + "#";
  const std::string full = record + std::string(kLargestRecordFile - record.size(), 'x');
  EXPECT_EQ(faults_of(full), "no fault");
  EXPECT_THAT(faults_of(full + "x"), StartsWith("rig.yaml: the file has more than 1048576 bytes"));
}

TEST(RecordTree, ReportsEveryDuplicateKeyAndStillReads) {
  std::vector<InputFault> faults;
  const RecordNode root = parse_record("a: 1\nb: {c: 1, c: 2}\na: 2\n", faults);
  ASSERT_EQ(faults.size(), 2U);
  expect_place(faults[0].where, 2, 11);
  expect_place(faults[1].where, 3, 1);
  EXPECT_THAT(faults[1].message, HasSubstr("'a' is given twice, first in line 1"));
  EXPECT_EQ(root.find("a")->text, "1");
}

}  // namespace
}  // namespace firstglow::core
