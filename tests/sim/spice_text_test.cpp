#include "netlists/spice_text.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>

#include "core/error.hpp"

namespace firstglow::netlists {
namespace {

using ::testing::ElementsAre;

Deck every_element() {
  Deck deck;
  deck.node_count = 5;
  deck.add(0, ResistorElement{1, 2, 4700.0});
  deck.add(0, CapacitorElement{2, 0, 4.7e-5, -4.0});
  deck.add(0, InductorElement{3, 0, 10.0, 0.25});
  deck.add(0, SineSourceElement{1, 0, 162.6, 60.0, 90.0});
  deck.add(0, DcSourceElement{4, 0, 0.0});
  deck.add(0, DiodeElement{1, 2, 1e-9, 1.8, 0.1, 1e-11});
  deck.add(0, DiodeElement{3, 2, 1e-9, 1.8, 0.2, 1e-11});
  deck.add(0, VoltageFollowerElement{3, 0, 1, 2.5});
  deck.add(0, CurrentMirrorElement{2, 4, -2.5});
  deck.add(0, CurrentSinkElement{2, 3, 0.1, 5.0});
  deck.add(0, ThermalResistorElement{0, 2, 10.0, 1.2, 600.0, 60.0, 0.002, 310.0});
  deck.add(0, WindingElement{1, 2, 3, 5.0, 40.0});
  return deck;
}

// The whole text. By hand: knee 5 V squared is 25; (300/600)^4.195 = 0.0546, 60 W/(1 - 0.0546) =
// 63.5 W, both with all their digits. Winding: 5/40 ohm = 0.125 S, 40 ohm/5^2 = 1.6 ohm.
TEST(SpiceText, WritesEveryElementFromNumbersOnly) {
  const SpiceTransient transient{0.1, 1e-4, 0.05, false};
  const std::string room = spice_number(std::pow(0.5, 4.195));
  const std::string watts = spice_number(60.0 / (1.0 - std::pow(0.5, 4.195)));
  EXPECT_THAT(
      spice_deck("run", every_element(), transient, {"n1", "v4#branch"}),
      ElementsAre("deck run", "r0 n1 n2 4700", "c1 n2 0 4.7e-05 ic=-4", "l2 n3 0 10 ic=0.25",
                  "v3 n1 0 sin(0 162.6 60 0 0 90)", "v4 n4 0 dc 0", "d5 n1 x5 m1", "r5 x5 n2 0.1",
                  "d6 n3 x6 m1", "r6 x6 n2 0.2", "e7 n3 0 n1 0 2.5", "f8 0 n2 v4 -2.5",
                  "b9 n2 n3 i=0.1*v(n2,n3)/sqrt(v(n2,n3)*v(n2,n3)+25)",
                  "b10 0 n2 i=(0-v(n2))/(10*pow(min(max(v(x10),150),20000)/300,1.2))",
                  "b10h 0 x10 i=(0-v(n2))*(0-v(n2))/(10*pow(min(max(v(x10),150),20000)/300,1.2))-" +
                      watts + "*(pow(min(max(v(x10),150),20000)/600,4.195)-" + room + ")",
                  "c10 x10 0 0.002 ic=310", "r11 n1 n2 40", "g11 n2 n1 n3 0 0.125",
                  "g11h 0 n3 n1 n2 0.125", "r11h n3 0 1.6", ".model m1 d(is=1e-09 n=1.8 cjo=1e-11)",
                  ".options xmu=0.49 abstol=1e-9", ".tran 1e-04 0.1 0.05 1e-04 uic",
                  ".save n1 v4#branch", ".end"));
}

TEST(SpiceText, PassesItsOwnSecondLock) {
  require_plain_spice(spice_deck("run 7", every_element(), {0.1, 1e-4, 0.0, true}, {"n1"}));
}

TEST(SpiceText, SecondLockRefusesEverythingElse) {
  const std::vector<std::string> refused = {"* comment",
                                            "*# shell touch x",
                                            ".control",
                                            ".include x",
                                            ".lib x y",
                                            "r1 n1 0 1;2",
                                            "r1 n1 0 `x`",
                                            "r1 n1 0 {x}",
                                            "x1 n1 s",
                                            "rx n1 0 1",
                                            "r1 n1 0 1\nr2 1 0 1",
                                            ".END ",
                                            ".endc",
                                            "+ 1",
                                            "",
                                            " r1 n1 0 1",
                                            ".model m d $",
                                            "r1 n1 0 \"f\"",
                                            "a1 n1 n2 m",
                                            ".param x=1",
                                            "shell touch x",
                                            ".save n1 > x",
                                            "v1 n1 0 file|cmd",
                                            "R1 n1 0 1"};
  for (const std::string& line : refused) {
    EXPECT_THROW(require_plain_spice({"deck run", line, ".end"}), core::ContractError) << line;
  }
  EXPECT_THROW(require_plain_spice({"*ng_script", ".end"}), core::ContractError);
  EXPECT_THROW(require_plain_spice({"deck", "r1 n1 0 1"}), core::ContractError);
  require_plain_spice({"deck run", "r1 n1 0 1", ".end"});
}

TEST(SpiceText, NotesBecomeHarmlessComments) {
  const auto notes = [](ElementIndex i) {
    return i == 0 ? std::vector<std::string>{"R14 \"bleeder\" 50 k\n.control", "# shell `x`; $y"}
                  : std::vector<std::string>{};
  };
  const SpiceLines lines = spice_elements(every_element(), notes);
  EXPECT_EQ(lines[0], "* R14 ?bleeder? 50 k?.control");
  EXPECT_EQ(lines[1], "* ? shell ?x?? ?y");
  EXPECT_EQ(lines[2], "r0 n1 n2 4700");
  EXPECT_EQ(spice_deck("*ng_script\nx", every_element(), {1, 1, 0, false}, {})[0],
            "deck ?ng_script?x");
}

TEST(SpiceText, RefusesWhatIsNotFiniteOrOutOfRange) {
  EXPECT_THROW((void)spice_number(std::numeric_limits<double>::quiet_NaN()), core::ContractError);
  EXPECT_THROW((void)spice_number(std::numeric_limits<double>::infinity()), core::ContractError);
  EXPECT_EQ(spice_number(0.1), "0.1");
  EXPECT_EQ(spice_number(-1e300), "-1e+300");
  Deck deck = every_element();
  deck.add(0, ResistorElement{1, 1, 1.0});
  EXPECT_THROW((void)spice_elements(deck), core::ContractError);
  EXPECT_THROW((void)spice_analysis({0.0, 1e-4, 0.0, false}), core::ContractError);
  EXPECT_THROW((void)spice_analysis({1.0, 0.0, 0.0, false}), core::ContractError);
  EXPECT_THROW((void)spice_analysis({1.0, 1e-4, 1.0, false}), core::ContractError);
}

}  // namespace
}  // namespace firstglow::netlists
