// Rectifier tubes, selenium stacks and silicon strings: which elements do they become?
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "netlists/deck_builder.hpp"
#include "netlists/rectifier_model.hpp"
#include "netlists/tungsten.hpp"
#include "tests/netlists/bench.hpp"
#include "tests/netlists/rig_maker.hpp"
#include "tests/netlists/small_supply.hpp"

namespace firstglow::netlists {
namespace {

using test::all_of_kind;
using test::current_element;
using test::part_index;
using test::RigMaker;

core::RectifierHeater filament(RigMaker& maker) {
  core::RectifierHeater heater;
  heater.a = maker.node("FA");
  heater.b = maker.node("FB");
  heater.rated_volts = core::RmsVolts(5.0);
  heater.rated_current = core::Amps(2.0);
  heater.direct = true;
  return heater;
}

/// 2 x 350 V with 50 ohm, a 5 V filament winding at B+, a bleeder; no tube yet.
RigMaker iron() {
  RigMaker maker;
  maker.mains(120.0, 60.0, 0.1);
  maker.transformer("T1", maker.winding("primary", {"LINE", "NEUTRAL"}, {120.0}, {1.0}),
                    {maker.winding("plate", {"HV1", "0", "HV2"}, {350.0, 350.0}, {50.0, 50.0}),
                     maker.winding("fil", {"FA", "FB"}, {5.0}, {0.02})},
                    0.1, 5.0);
  maker.resistor("R1", "FB", "0", 20e3, core::ResistorRole::bleeder);
  return maker;
}

/// With a 5Y3GT [5Y3GT-DS]: 60 V at 125 mA.
RigMaker with_tube(const std::string& plate_2 = "HV2") {
  RigMaker maker = iron();
  core::VacuumRectifier tube;
  tube.plate_1 = maker.node("HV1");
  tube.plate_2 = maker.node(plate_2);
  tube.cathode = maker.node("FB");
  tube.heater = filament(maker);
  tube.drop_volts = core::Volts(60.0);
  tube.drop_current = core::Amps(0.125);
  maker.part("V1", tube);
  return maker;
}

// By hand: 0.125 / 60^1.5 = 2.690e-4; the filament is 5 V / 2 A = 2.5 ohm when hot.
TEST(RectifierParts, ATwinIsTwoVacuumDiodesAndAWire) {
  const RigMaker maker = with_tube();
  const BuiltDeck built = build_deck(maker.rig(), {});
  const auto diodes = all_of_kind<VacuumDiodeElement>(built.deck);
  ASSERT_EQ(diodes.size(), 2U);
  EXPECT_NEAR(diodes[0].perveance, 2.690e-4, 5e-8);
  EXPECT_EQ(diodes[0].cathode, diodes[1].cathode);
  EXPECT_NE(diodes[0].anode, diodes[1].anode);
  const auto wire = built.current_of(part_index(maker.rig(), "V1"), kRectifierHeaterSection);
  ASSERT_TRUE(wire);
  const auto& data = built.deck.elements[static_cast<std::size_t>(*wire)].data;
  EXPECT_DOUBLE_EQ(std::get<ResistorElement>(data).ohm, 2.5);
}

TEST(RectifierParts, OneOpenPlateIsOneDiodeAndTwoJoinedOnesAreTwo) {
  EXPECT_EQ(all_of_kind<VacuumDiodeElement>(build_deck(with_tube("open").rig(), {}).deck).size(),
            1U);
  EXPECT_EQ(all_of_kind<VacuumDiodeElement>(build_deck(with_tube("HV1").rig(), {}).deck).size(),
            2U);
}

TEST(RectifierParts, AColdTubeHasAHeaterButNoPlateCurrent) {
  const RigMaker maker = with_tube();
  Situation situation;
  situation.cold_rectifiers.insert("V1");
  const BuiltDeck built = build_deck(maker.rig(), situation);
  EXPECT_TRUE(all_of_kind<VacuumDiodeElement>(built.deck).empty());
  const int tube = part_index(maker.rig(), "V1");
  EXPECT_FALSE(built.current_of(tube, 0));
  EXPECT_TRUE(built.current_of(tube, kRectifierHeaterSection));
  situation.cold_rectifiers.insert("V7");
  EXPECT_THROW((void)build_deck(maker.rig(), situation), core::ContractError);
}

TEST(RectifierParts, AMovingFilamentStartsCold) {
  const RigMaker maker = with_tube();
  Situation situation;
  situation.thermal = ThermalMode::moving;
  const auto wires = all_of_kind<ThermalResistorElement>(build_deck(maker.rig(), situation).deck);
  ASSERT_EQ(wires.size(), 1U);
  EXPECT_DOUBLE_EQ(wires[0].cold_ohm, 0.5);
  EXPECT_DOUBLE_EQ(wires[0].start_k, kRoomKelvin);
  EXPECT_DOUBLE_EQ(wires[0].hot_w, 10.0);
}

// The filament winding rides on the output: a meter has to stand there with nothing behind it.
TEST(RectifierParts, RectifierStageHasAMeterOnTheFilament) {
  RigMaker maker = with_tube();
  maker.rig().parts.erase(maker.rig().parts.begin() + part_index(maker.rig(), "R1"));
  Situation situation;
  situation.stage = Stage::rectifier;
  const BuiltDeck built = build_deck(maker.rig(), situation);
  ASSERT_EQ(built.meters.size(), 1U);
}

// By hand, at 0.25 A: 8 x 25.865 mV x ln(0.25 / 1e-9) = 4.00 V, 2 ohm x 0.25 A = 0.5 V, so 10.5 V
// are left for the source behind the diode.
TEST(RectifierParts, AGasTubeIsADiodeInFrontOfBackVolts) {
  RigMaker maker = iron();
  core::GasRectifier tube;
  tube.plate = maker.node("HV1");
  tube.cathode = maker.node("FB");
  tube.heater = filament(maker);
  tube.drop_volts = core::Volts(15.0);
  tube.average_current = core::Amps(0.25);
  maker.part("V1", tube);
  const BuiltDeck built = build_deck(maker.rig(), {});
  const auto sources = all_of_kind<DcSourceElement>(built.deck);
  const auto back = std::find_if(sources.begin(), sources.end(),
                                 [](const DcSourceElement& e) { return e.volts > 0.0; });
  ASSERT_NE(back, sources.end());
  EXPECT_NEAR(back->volts, 10.5, 0.01);
}

// By hand: 0.6 V of junction and 0.4 V of 4 ohm at 100 mA a plate, ten times.
TEST(RectifierParts, ASeleniumStackIsSoManyPlates) {
  RigMaker maker = iron();
  core::SeleniumRectifier stack;
  stack.anode = maker.node("HV1");
  stack.cathode = maker.node("FB");
  stack.plates = 10;
  stack.drop_per_plate = core::Volts(1.0);
  stack.average_current = core::Amps(0.1);
  maker.part("SR1", stack);
  const BuiltDeck built = build_deck(maker.rig(), {});
  const auto diode = current_element<DiodeElement>(maker.rig(), built, "SR1");
  EXPECT_DOUBLE_EQ(diode.series_ohm, 40.0);
  EXPECT_DOUBLE_EQ(diode.emission, 30.0);
  const double junction_v = diode.emission * kThermalVolts * std::log1p(0.1 / diode.saturation_a);
  EXPECT_NEAR(junction_v + 0.1 * diode.series_ohm, 10.0, 1e-9);
}

TEST(RectifierParts, AStringHasItsEqualisersAndSnubbersInTheCircuit) {
  RigMaker maker = test::small_supply();
  auto& diode = std::get<core::SiliconDiode>(
      maker.rig().parts[static_cast<std::size_t>(part_index(maker.rig(), "D1"))].data);
  const std::size_t before = build_deck(maker.rig(), {}).deck.elements.size();
  diode.equaliser = core::Ohms(470e3);
  diode.snubber = core::Farads(10e-9);
  EXPECT_EQ(build_deck(maker.rig(), {}).deck.elements.size(), before + 3);
  const int part = part_index(maker.rig(), "D1");
  double equaliser_ohm = 0.0;
  double snubber_f = 0.0;
  const Deck deck = build_deck(maker.rig(), {}).deck;
  for (const Element& element : deck.elements) {
    const auto* resistor = std::get_if<ResistorElement>(&element.data);
    const auto* capacitor = std::get_if<CapacitorElement>(&element.data);
    if (element.part == part && resistor != nullptr) {
      equaliser_ohm = std::max(equaliser_ohm, resistor->ohm);
    } else if (element.part == part && capacitor != nullptr) {
      snubber_f = capacitor->farad;
    }
  }
  EXPECT_DOUBLE_EQ(equaliser_ohm, 2 * 470e3);
  EXPECT_DOUBLE_EQ(snubber_f, 10e-9 / 2);
}

// The law is exact, so the plate current follows the volts across it at every point; and what the
// plates give is what the bleeder takes: 20 k from some 400 V.
TEST(RectifierParts, PlateCurrentsAddUpToTheLoad) {
  const RigMaker maker = with_tube();
  const test::Bench bench(maker.rig(), {}, 0.1, 1.0 / 60.0 / 400.0);
  const double span_s = 1.0 / 60.0;
  const double plates_a =
      bench.mean(bench.amps("V1", 0), span_s) + bench.mean(bench.amps("V1", 1), span_s);
  EXPECT_NEAR(plates_a, bench.mean(bench.amps("R1"), span_s), 1e-3 * plates_a);
  EXPECT_GT(plates_a, 0.010);
}

}  // namespace
}  // namespace firstglow::netlists
