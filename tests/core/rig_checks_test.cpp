#include "core/rig_checks.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;
using testing::Not;

TEST(RigChecks, FindNothingInSoundRigs) {
  EXPECT_EQ(faults_of(small_record()), "no fault");
  EXPECT_EQ(faults_of(demo_record()), "no fault");
}

TEST(RigChecks, WantExactlyOneMainsInlet) {
  const std::string second = edited(small_record(), "  F1:",
                                    "  P2: {kind: mains_inlet, nodes: {line: LINE, neutral: "
                                    "NEUTRAL}, nominal: 120 V, frequency: 60 Hz}\n  F1:");
  EXPECT_THAT(faults_of(second),
              HasSubstr("rig.yaml:7:3: part 'P2' is a second mains inlet beside 'P1'"));
  std::string none = small_record();
  none.erase(none.find("  P1:"), none.find("  F1:") - none.find("  P1:"));
  EXPECT_THAT(faults_of(none), HasSubstr("rig.yaml:6:3: the parts hold no mains_inlet"));
}

TEST(RigChecks, FindNodesThatLeadNowhere) {
  const std::string text = edited(small_record(), "nodes: [B+, CHASSIS], value: 47k",
                                  "nodes: [B*, CHASSIS], value: 47k");
  EXPECT_THAT(faults_of(text), HasSubstr("'B*' is no node name"));
  EXPECT_THAT(faults_of(edited(small_record(), "nodes: [B+, CHASSIS], value: 47k",
                               "nodes: [BB, CHASSIS], value: 47k")),
              HasSubstr("rig.yaml:16:47: node 'BB' leads nowhere: only one terminal is on it"));
}

TEST(RigChecks, TakeAnEndLeftOpenOnPurpose) {
  EXPECT_EQ(faults_of(edited(small_record(), "nodes: [B+, CHASSIS], value: 47k",
                             "nodes: [open, CHASSIS], value: 47k")),
            "no fault");
}

TEST(RigChecks, FindASecondGround) {
  for (const char* name : {"GND", "ground", "Earth", "0"}) {
    std::string text = edited(small_record(), "nodes: [B+, CHASSIS], value: 47k",
                              std::string("nodes: [B+, ") + name + "], value: 47k");
    text = edited(text, "{plus: B+, minus: CHASSIS}, value: 50 mA",
                  std::string("{plus: B+, minus: ") + name + "}, value: 50 mA");
    EXPECT_THAT(faults_of(text),
                HasSubstr(std::string("rig.yaml:16:51: node '") + name +
                          "' looks like a second ground beside the chassis node 'CHASSIS'"));
  }
}

TEST(RigChecks, LetAGroundWordBeTheChassis) {
  std::string text = small_record();
  while (text.find("CHASSIS") != std::string::npos) {
    text = edited(text, "CHASSIS", "GND");
  }
  EXPECT_EQ(faults_of(text), "no fault");
}

TEST(RigChecks, WantTheChassisUsed) {
  EXPECT_THAT(faults_of(edited(small_record(), "chassis: CHASSIS", "chassis: FRAME1")),
              HasSubstr("rig.yaml:4:10: chassis node 'FRAME1' has no part on it"));
}

TEST(RigChecks, FindPartsShortedOnThemselves) {
  EXPECT_THAT(
      faults_of(edited(small_record(), "nodes: [B+, CHASSIS], value: 47k",
                       "nodes: [B+, B+], value: 47k")),
      HasSubstr("rig.yaml:16:3: part 'R1' (resistor) has two neighbouring ends on node 'B+'"));
  EXPECT_THAT(faults_of(edited(small_record(), "[HV1, CHASSIS, HV2]", "[HV1, HV1, HV2]")),
              HasSubstr("part 'T1' (power_transformer) has two neighbouring ends on node 'HV1'"));
}

/// A record with one 300 V winding (nodes given) and the parts given.
std::string supply(const std::string& winding, const std::string& parts) {
  return "firstglow: 1\nname: Supply\nchassis: C\nparts:\n"
         "  P1: {kind: mains_inlet, nodes: {line: L, neutral: N}, nominal: 120 V, frequency: 60 "
         "Hz}\n"
         "  T1:\n    kind: power_transformer\n"
         "    primary: {nodes: [L, N], volts: 117 V, ohms: 4 ohm, rated_current: 1 A}\n"
         "    secondaries: {hv: " +
         winding + "}\n" + parts;
}

std::string diode(const std::string& name, const std::string& anode, const std::string& cathode) {
  return "  " + name + ": {kind: silicon_diode, type: 1N4007, nodes: {anode: " + anode +
         ", cathode: " + cathode + "}}\n";
}

std::string can(const std::string& name, const std::string& plus, const std::string& minus) {
  return "  " + name + ": {kind: electrolytic, value: 40u, nodes: {plus: " + plus +
         ", minus: " + minus + "}}\n";
}

std::string resistor(const std::string& name, const std::string& a, const std::string& b,
                     const std::string& role) {
  return "  " + name + ": {kind: resistor, value: 10k, role: " + role + ", nodes: [" + a + ", " +
         b + "]}\n";
}

const std::string kOneWinding = "{nodes: [A, B], volts: 300 V, ohms: 50 ohm}";
const std::string kGroundedWinding = "{nodes: [A, C], volts: 300 V, ohms: 50 ohm}";
const std::string kCentreTap = "{nodes: [A, C, B], volts: 2x300 V, ohms: 2x50 ohm}";

TEST(CurrentPaths, PassACentreTapSupplyOfEitherSign) {
  EXPECT_EQ(faults_of(supply(kCentreTap,
                             diode("D1", "A", "P") + diode("D2", "B", "P") + can("C1", "P", "C"))),
            "no fault");
  EXPECT_EQ(faults_of(supply(kCentreTap,
                             diode("D1", "P", "A") + diode("D2", "P", "B") + can("C1", "C", "P"))),
            "no fault");
}

TEST(CurrentPaths, FindACentreTapRectifierTurnedRound) {
  const std::string faults = faults_of(
      supply(kCentreTap, diode("D1", "A", "P") + diode("D2", "P", "B") + can("C1", "P", "C")));
  EXPECT_THAT(faults, HasSubstr("rig.yaml:10:3: rectifier 'D1' shorts a winding: T1, D1, D2 form"));
  EXPECT_THAT(faults, Not(HasSubstr("rectifier 'D2' shorts")));  // one loop, one message
}

TEST(CurrentPaths, FindAFilterTurnedRoundBehindACentreTap) {
  EXPECT_THAT(faults_of(supply(
                  kCentreTap, diode("D1", "A", "P") + diode("D2", "B", "P") + can("C1", "C", "P"))),
              HasSubstr("rig.yaml:12:3: electrolytic 'C1' is polarised against the supply"));
}

// With the two rectifiers turned together the filter is charged backwards.
TEST(CurrentPaths, FindBothRectifiersTurnedRound) {
  EXPECT_THAT(faults_of(supply(
                  kCentreTap, diode("D1", "P", "A") + diode("D2", "P", "B") + can("C1", "P", "C"))),
              HasSubstr("electrolytic 'C1' is polarised against the supply"));
}

std::string bridge(const std::string& d3) {
  return supply(kOneWinding, diode("D1", "A", "P") + diode("D2", "B", "P") + d3 +
                                 diode("D4", "C", "B") + can("C1", "P", "C"));
}

TEST(CurrentPaths, PassABridge) { EXPECT_EQ(faults_of(bridge(diode("D3", "C", "A"))), "no fault"); }

TEST(CurrentPaths, FindABridgeRectifierTurnedRound) {
  EXPECT_THAT(faults_of(bridge(diode("D3", "A", "C"))), HasSubstr("shorts a winding: T1, D3, D4"));
}

TEST(CurrentPaths, FindAFuseInAShortToo) {
  EXPECT_THAT(
      faults_of(supply(kGroundedWinding,
                       "  F1: {kind: fuse, nodes: [A, F], rating: 1 A}\n" + diode("D1", "F", "C"))),
      HasSubstr("rectifier 'D1' shorts a winding: T1, F1, D1"));
}

TEST(CurrentPaths, PassAHalfWaveBiasSupplyWithThePositiveAtTheChassis) {
  EXPECT_EQ(faults_of(supply(kGroundedWinding,
                             resistor("R1", "A", "S", "dropper") + diode("D1", "RAW", "S") +
                                 can("C1", "C", "RAW") + resistor("R2", "RAW", "BIAS", "dropper") +
                                 can("C2", "C", "BIAS") + resistor("R3", "BIAS", "C", "bleeder"))),
            "no fault");
}

TEST(CurrentPaths, FindABiasCapacitorTurnedRound) {
  const std::string faults = faults_of(supply(
      kGroundedWinding, resistor("R1", "A", "S", "dropper") + diode("D1", "RAW", "S") +
                            can("C1", "C", "RAW") + resistor("R2", "RAW", "BIAS", "dropper") +
                            can("C2", "BIAS", "C") + resistor("R3", "BIAS", "C", "bleeder")));
  EXPECT_THAT(faults, HasSubstr("electrolytic 'C2' is polarised against"));
  EXPECT_THAT(faults, Not(HasSubstr("'C1' is polarised")));
}

TEST(CurrentPaths, FindABiasRectifierTurnedRound) {
  EXPECT_THAT(faults_of(supply(kGroundedWinding, diode("D1", "A", "RAW") + can("C1", "C", "RAW") +
                                                     resistor("R3", "RAW", "C", "bleeder"))),
              HasSubstr("electrolytic 'C1' is polarised against the supply: T1, D1 charge"));
}

std::string doubler(const std::string& d2, const std::string& c2) {
  return supply(kOneWinding, diode("D1", "A", "P") + d2 + can("C1", "P", "B") + c2 +
                                 resistor("R1", "P", "C", "bleeder"));
}

TEST(CurrentPaths, PassAFullWaveDoubler) {
  EXPECT_EQ(faults_of(doubler(diode("D2", "C", "A"), can("C2", "B", "C"))), "no fault");
}

TEST(CurrentPaths, FindADoublerPartTurnedRound) {
  EXPECT_THAT(faults_of(doubler(diode("D2", "A", "C"), can("C2", "B", "C"))),
              HasSubstr("electrolytic 'C2' is polarised against"));
  EXPECT_THAT(faults_of(doubler(diode("D2", "C", "A"), can("C2", "C", "B"))),
              HasSubstr("electrolytic 'C2' is polarised against"));
}

std::string cascade(const std::string& c1) {
  return supply(kGroundedWinding, c1 + diode("D1", "C", "X") + diode("D2", "X", "OUT") +
                                      can("C2", "OUT", "C") +
                                      resistor("R1", "OUT", "C", "bleeder"));
}

TEST(CurrentPaths, PassAHalfWaveDoubler) {
  EXPECT_EQ(faults_of(cascade(can("C1", "X", "A"))), "no fault");
}

TEST(CurrentPaths, FindThePumpCapacitorOfAHalfWaveDoublerTurnedRound) {
  const std::string faults = faults_of(cascade(can("C1", "A", "X")));
  EXPECT_THAT(faults, HasSubstr("electrolytic 'C1' is polarised against"));
  EXPECT_THAT(faults, Not(HasSubstr("'C2' is polarised")));
}

std::string stack(const std::string& c2) {
  return supply(kCentreTap,
                diode("D1", "A", "R") + diode("D2", "B", "R") +
                    "  L1: {kind: choke, nodes: [R, P], value: 10 H, dc_resistance: 90 ohm}\n" +
                    can("C1", "P", "M") + c2 + resistor("R1", "P", "M", "equaliser") +
                    resistor("R2", "M", "C", "equaliser"));
}

TEST(CurrentPaths, PassAStackBehindAChoke) {
  EXPECT_EQ(faults_of(stack(can("C2", "M", "C"))), "no fault");
}

TEST(CurrentPaths, FindOneCanOfAStackTurnedRound) {
  EXPECT_THAT(faults_of(stack(can("C2", "C", "M"))),
              HasSubstr("rig.yaml:14:3: electrolytic 'C2' is polarised against"));
}

TEST(CurrentPaths, FindRectifiersThatBlockEachOther) {
  const std::string faults = faults_of(supply(
      kGroundedWinding, diode("D1", "A", "X") + diode("D2", "P", "X") + can("C1", "P", "C")));
  EXPECT_THAT(faults, HasSubstr("rig.yaml:10:3: rectifier 'D1' can never conduct: no current finds "
                                "a way from its cathode node 'X' back to its anode node 'A'"));
  EXPECT_THAT(faults, HasSubstr("rectifier 'D2' can never conduct"));
}

// A film capacitor has no polarity: drawn either way it is no fault.
TEST(CurrentPaths, SayNothingOfFilmCapacitors) {
  EXPECT_EQ(
      faults_of(supply(kGroundedWinding,
                       diode("D1", "A", "P") +
                           "  C1: {kind: oil_capacitor, value: 4u, nodes: {plus: C, minus: P}}\n")),
      "no fault");
}

// A cathode bypass sees the supply only through a tube: nothing is said.
TEST(CurrentPaths, SayNothingWhereOnlyALoadCharges) {
  EXPECT_EQ(faults_of(supply(kGroundedWinding,
                             diode("D1", "A", "P") + can("C1", "P", "C") + can("C2", "K", "C") +
                                 resistor("R1", "K", "C", "plain") +
                                 "  V1: {kind: current_load, value: 30 mA, nodes: {plus: P, minus: "
                                 "K}}\n")),
            "no fault");
}

// A mesh of 12 x 12 resistors has more paths than anybody can walk: the search gives up in time
// and says nothing.
TEST(CurrentPaths, GiveUpQuietlyInATangle) {
  std::string parts = diode("D1", "A", "N0.0") + can("C1", "N11.11", "C");
  for (int row = 0; row < 12; ++row) {
    for (int column = 0; column < 12; ++column) {
      const auto name = [](int r, int c) {
        return "N" + std::to_string(r) + "." + std::to_string(c);
      };
      const std::string here = name(row, column);
      if (row < 11) {
        parts += resistor("V" + here, here, name(row + 1, column), "plain");
      }
      if (column < 11) {
        parts += resistor("H" + here, here, name(row, column + 1), "plain");
      }
    }
  }
  EXPECT_EQ(faults_of(supply(kGroundedWinding, parts)), "no fault");
}

}  // namespace
}  // namespace firstglow::core
