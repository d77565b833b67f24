#include "netlists/deck_export.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdio>
#include <sstream>

#include "core/error.hpp"
#include "tests/netlists/rig_maker.hpp"

namespace firstglow::netlists {
namespace {

using test::RigMaker;
using ::testing::HasSubstr;

RigMaker half_wave(const std::string& resistor, const std::string& node) {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.3);
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {117.0}, {2.0}),
                    {maker.winding("plate", {"AC", "0"}, {300.0}, {30.0})}, 0.1, 5.0);
  maker.diode("D1", "AC", node).capacitor("C1", node, "0", 10e-6);
  maker.resistor(resistor, node, "0", 50e3, core::ResistorRole::bleeder);
  return maker;
}

std::string export_of(const RigMaker& maker, const Situation& situation = {}) {
  return export_deck(maker.rig(), situation, build_deck(maker.rig(), situation));
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) {
    lines.push_back(line);
  }
  return lines;
}

/// A comment of words, an element, or one of the cards the writer uses.
bool is_harmless(const std::string& line) {
  if (line.rfind("* ", 0) == 0) {
    return line.size() > 2 && std::isalpha(static_cast<unsigned char>(line[2])) != 0 &&
           line.find_first_of("#`$;\"'\\<>|&!*{}[]", 1) == std::string::npos;
  }
  const std::array<std::string, 5> cards{".model m", ".options ", ".tran ", ".save ", ".end"};
  const bool card = std::any_of(cards.begin(), cards.end(), [&](const std::string& start) {
    return line.rfind(start, 0) == 0;
  });
  const bool element = line.size() > 2 &&
                       std::string("rclvdefb").find(line[0]) != std::string::npos &&
                       std::isdigit(static_cast<unsigned char>(line[1])) != 0;
  return card || element;
}

TEST(DeckExport, NamesNodesPartsAndCurrentsAsTheUserDoes) {
  const std::string text = export_of(half_wave("R14", "B+"));
  EXPECT_THAT(text, HasSubstr("= B+\n"));
  EXPECT_THAT(text, HasSubstr("* part R14: "));
  EXPECT_THAT(text, HasSubstr("* current of R14 = element r"));
  EXPECT_THAT(text, HasSubstr("* current of T1 primary = element v"));
  EXPECT_THAT(text, HasSubstr("* current of T1 plate = element v"));
  EXPECT_THAT(text, HasSubstr("* HIGH VOLTAGE."));
  EXPECT_EQ(lines_of(text).front(), "deck written by firstglow");
  EXPECT_EQ(lines_of(text).back(), ".end");
}

TEST(DeckExport, SaysTheSituation) {
  Situation situation;
  situation.stage = Stage::filter;
  situation.variac_setting = 0.5;
  situation.lamp = LampInSeries{core::Watts(60.0), core::RmsVolts(120.0)};
  situation.corner["C1"] = 1.0;
  situation.lifted.insert("R1");
  const std::string text = export_of(half_wave("R1", "B+"), situation);
  EXPECT_THAT(text, HasSubstr("* stage: plus filter\n"));
  EXPECT_THAT(text, HasSubstr("variac setting 0.5"));
  EXPECT_THAT(text, HasSubstr("* lamp in series: 60 W 120 V\n"));
  EXPECT_THAT(text, HasSubstr("* tolerance: C1 at 1 of its band"));
  EXPECT_THAT(text, HasSubstr("* lifted: R1\n"));
  EXPECT_THAT(text, HasSubstr("* test lamp in series with the mains\n"));
  situation.mains_on = false;
  EXPECT_THAT(export_of(half_wave("R1", "B+"), situation), HasSubstr("* mains: unplugged\n"));
}

// Whatever a record calls its parts, no line of the file is more than a comment or an element.
TEST(DeckExport, LeavesNoLineThatActsAsACommand) {
  const std::array<std::string, 10> hostile{"*# shell touch x",
                                            "R1\n.control\nshell touch x\n.endc",
                                            "`touch x`",
                                            "x; shell touch x",
                                            "$(touch x)",
                                            "\r\n*# quit",
                                            ".include /etc/passwd",
                                            "*ng_script",
                                            std::string("nul\0*# quit", 11),
                                            "\xc3\x9f\xe2\x80\xa8*# quit"};
  for (const std::string& words : hostile) {
    RigMaker maker = half_wave(words, words + " node");
    maker.rig().name = words;
    maker.rig().parts.back().type = words;
    maker.rig().parts.back().note = words;
    const std::vector<std::string> lines = lines_of(export_of(maker));
    EXPECT_EQ(lines.front(), "deck written by firstglow");
    for (std::size_t i = 1; i < lines.size(); ++i) {
      EXPECT_TRUE(is_harmless(lines[i])) << lines[i];
    }
  }
}

TEST(DeckExport, CutsLongNames) {
  const std::vector<std::string> lines =
      lines_of(export_of(half_wave(std::string(5000, 'R'), "B+")));
  for (const std::string& line : lines) {
    EXPECT_LT(line.size(), 250U);
  }
}

TEST(DeckExport, RefusesADeckOfAnotherRig) {
  const RigMaker maker = half_wave("R1", "B+");
  RigMaker other = half_wave("R1", "B+");
  other.resistor("R2", "B+", "X", 1e3);
  const BuiltDeck built = build_deck(other.rig(), {});
  EXPECT_THROW((void)export_deck(maker.rig(), {}, built), core::ContractError);
}

}  // namespace
}  // namespace firstglow::netlists
