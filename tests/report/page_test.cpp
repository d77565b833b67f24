#include "sim/report/page.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

#include "core/error.hpp"
#include "tests/report/page_width.hpp"
#include "tests/report/sample_results.hpp"

namespace firstglow::sim {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

constexpr TextStyle kAscii{};
constexpr TextStyle kUtf8{.utf8 = true};

// A terminal would obey each of these: colour, title, bell, new line, carriage return, tab, DEL.
TEST(ShownText, MakesControlCharactersVisible) {
  EXPECT_EQ(shown("\x1b[31mred\x07", kUtf8), "\\x1b[31mred\\x07");
  EXPECT_EQ(shown("a\nb\r\tc\x7f", kUtf8), "a\\nb\\x0d\\tc\\x7f");
}

// U+009B starts a control sequence on many terminals in UTF-8 too.
TEST(ShownText, MakesEightBitControlsVisible) {
  EXPECT_EQ(shown("\xc2\x9b"
                  "2J",
                  kUtf8),
            "\\u{9b}2J");
}

// U+202E turns the rest of the line round: "12 V" could be read as "V 21".
TEST(ShownText, MakesDirectionMarksVisible) {
  EXPECT_EQ(shown("\xe2\x80\xae"
                  "12 V",
                  kUtf8),
            "\\u{202e}12 V");
}

TEST(ShownText, ShowsBrokenUtf8AsBytes) {
  EXPECT_EQ(shown("\xff", kUtf8), "\\xff");
  EXPECT_EQ(shown("\xc0\x80", kUtf8), "\\xc0\\x80");           // overlong zero
  EXPECT_EQ(shown("\xed\xa0\x80", kUtf8), "\\xed\\xa0\\x80");  // half of a surrogate pair
  EXPECT_EQ(shown("\xe2\x82", kUtf8), "\\xe2\\x82");           // cut short
}

TEST(ShownText, KeepsLettersOnlyWhereTheLocaleHasThem) {
  EXPECT_EQ(shown("Röhre 6146 Ω", kUtf8), "Röhre 6146 Ω");
  EXPECT_EQ(shown("Röhre", kAscii), "R\\u{f6}hre");
}

TEST(ShownText, CountsColumnsNotBytes) {
  EXPECT_EQ(columns_of("Röhre"), 5);
  EXPECT_EQ(columns_of("整流"), 4);       // wide characters take two columns
  EXPECT_EQ(columns_of("e\xcc\x81"), 1);  // e with a combining acute accent
}

TEST(SourceWords, PutsAKeyInBracketsAndLeavesWordsAlone) {
  EXPECT_EQ(source_words("NEC-460-6"), "[NEC-460-6]");
  EXPECT_EQ(source_words("[NEC-460-6]"), "[NEC-460-6]");
  EXPECT_EQ(source_words("rating in the record"), "rating in the record");
}

TEST(Wrapped, BreaksAtSpacesAndCutsLongWords) {
  EXPECT_THAT(wrapped("one two three", 7), ElementsAre("one two", "three"));
  EXPECT_THAT(wrapped("abcdefgh", 3), ElementsAre("abc", "def", "gh"));
  EXPECT_THAT(wrapped("", 5), ElementsAre(""));
}

TEST(Table, AlignsNumbersRightAndWordsLeft) {
  Table table({{"part"}, {"volts\nV", Align::right}});
  table.row({"C1", "7"}).row({"R22", "1234"});
  EXPECT_THAT(table.lines(kAscii, 80), ElementsAre("      volts", "part      V", "----  -----",
                                                   "C1        7", "R22    1234"));
}

TEST(Table, WrapsTheWidestWordColumnToFit) {
  Table table({{"part"}, {"words"}, {"V", Align::right}});
  table.row({"C1", "a long story about a capacitor that has seen better days", "450"});
  for (const std::string& line : table.lines(kAscii, 40)) {
    EXPECT_LE(columns_of(line), 40) << line;
  }
}

TEST(Table, RefusesARowOfAnotherLength) {
  Table table({{"one"}, {"two"}});
  EXPECT_THROW(table.row({"only one"}), core::ContractError);
}

// "1234" over "567" would be read as two numbers.
TEST(Table, NeverCutsANumber) {
  Table table(std::vector<Column>(30, Column{"volts", Align::right}));
  table.row(std::vector<std::string>(30, "1234567"));
  int numbers = 0;
  for (const std::string& line : table.lines(kAscii, 80)) {
    for (auto at = line.find("1234567"); at != std::string::npos;
         at = line.find("1234567", at + 1)) {
      ++numbers;
    }
  }
  EXPECT_EQ(numbers, 30);
}

TEST(Page, KeepsToItsWidthWhateverComes) {
  Page page(kAscii);
  std::vector<Column> columns(30, Column{"V", Align::right});
  Table table(columns);
  table.row(std::vector<std::string>(30, "1234567"));
  page.title(std::string(300, 'x')).heading(std::string(300, 'y')).table(table);
  page.item(std::string(200, 'm') + ":", std::string(300, 'z'));
  test::expect_within_page(page.take());
}

TEST(Page, MakesEverythingItPrintsHarmless) {
  Page page(kUtf8);
  Table table({{test::kHostile}, {"n"}});
  table.row({test::kHostile, "1"});
  page.title(test::kHostile).heading(test::kHostile).text(test::kHostile);
  page.item(test::kHostile, test::kHostile).table(table);
  test::expect_harmless(page.take());
}

}  // namespace
}  // namespace firstglow::sim
