#include "core/written_text.hpp"

#include <gtest/gtest.h>

namespace firstglow::core {
namespace {

std::string bad_in(std::string_view text) {
  const auto bad = find_bad_character(text);
  return bad ? bad->what : "nothing";
}

TEST(WrittenText, TakesPlainAndForeignLetters) {
  EXPECT_EQ(bad_in("R1: 4.7 k\u03A9, M\u00FCller, \u6D4B\u8BD5, \U0001F50B\n\ttab\r\n"), "nothing");
}

TEST(WrittenText, RefusesControlCharacters) {
  EXPECT_EQ(bad_in(std::string_view("a\0b", 3)), "a NUL byte");
  EXPECT_EQ(bad_in("\x1B[31m"), "control character U+001B");
  EXPECT_EQ(bad_in("a\rb"), "control character U+000D");
  EXPECT_EQ(bad_in("\x7F"), "control character U+007F");
  EXPECT_EQ(bad_in("\u0085"), "control character U+0085");
  EXPECT_EQ(bad_in("\u202E"), "control character U+202E");
  EXPECT_EQ(bad_in("\u2028"), "control character U+2028");
}

// Broken, overlong, surrogate, beyond U+10FFFF, cut off.
TEST(WrittenText, RefusesWhatIsNotUtf8) {
  for (const char* text : {"\xFF", "\xC0\x80", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xE2\x82",
                           "\x80", "\xC3(", "\xF8\x88\x80\x80\x80"}) {
    EXPECT_NE(bad_in(text).find("which is not UTF-8"), std::string::npos) << bad_in(text);
  }
}

TEST(WrittenText, CountsColumnsInCharacters) {
  const std::string text = "ab\n\u00B5\u03A9x";
  const SourcePosition where = position_at(text, text.find('x'));
  EXPECT_EQ(where.line, 2);
  EXPECT_EQ(where.column, 3);
}

TEST(WrittenText, QuotesShortAndClean) {
  EXPECT_EQ(in_quotes("47 uF"), "'47 uF'");
  EXPECT_EQ(in_quotes("a\nb"), "'a\\x0Ab'");
  EXPECT_EQ(in_quotes(std::string(50, 'x')), "'" + std::string(40, 'x') + "...'");
}

TEST(WrittenText, KnowsNames) {
  for (const char* name : {"B+", "-150", "R1", "PIN_8", "V1.a", "L2/3", "(A)", "0"}) {
    EXPECT_TRUE(is_name(name)) << name;
  }
  EXPECT_TRUE(is_name(std::string(32, 'N')));
  for (const char* name : {"", "B +", "a;b", "\u00B5", "a`b", "a$b", "*#", "a\nb", "a=b", "a\"b"}) {
    EXPECT_FALSE(is_name(name)) << name;
  }
  EXPECT_FALSE(is_name(std::string(33, 'N')));
}

}  // namespace
}  // namespace firstglow::core
