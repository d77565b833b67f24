// Forward volts of the 1N4007 through the engine, from the part library's own parameters.
#include <gtest/gtest.h>

#include <cmath>

#include "core/part_types.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

// [1N4007-SPICE], typed in again here: the engine gets the part library's.
constexpr double kSaturationA = 76.9e-12;
constexpr double kEmission = 1.45;
constexpr double kSeriesOhm = 0.042;

/// v = n Vt ln(I / Is) + I Rs at 27 C, the solver's temperature; by hand Vt = 25.865 mV.
double closed_form_v(double amps) {
  constexpr double kThermalV = 1.380649e-23 * 300.15 / 1.602176634e-19;
  return kEmission * kThermalV * std::log(amps / kSaturationA + 1.0) + amps * kSeriesOhm;
}

struct Point {
  double volts, amps;
};
/// One kilovolt behind a resistor that sets the current to 0.1 %.
Point forward_at(double amps) {
  netlists::Deck deck;
  const int supply = deck.add_node();
  const int anode = deck.add_node();
  deck.add(-1, netlists::DcSourceElement{supply, 0, 1000.0});
  deck.add(-1, netlists::ResistorElement{supply, anode, 1000.0 / amps});
  const core::DiodeType& type = *core::find_diode_type("1N4007");
  const int diode = deck.add(-1, netlists::DiodeElement{anode, 0, type.saturation_a, type.emission,
                                                        type.series_ohm, type.junction_f});
  sim::RunSpec spec;
  spec.stop_s = 1e-3;
  spec.max_step_s = 1e-5;
  spec.nodes = {anode};
  spec.currents = {diode};
  const auto waves = run(deck, spec);
  return {waves.node_v[0].back(), waves.current_a[0].back()};
}

// Half of the last digit, and 0.1 % of the current moves the volts by 0.0001 V.
TEST(DiodeForward, MeetsThePointsOfItsModel) {
  EXPECT_TRUE(agrees(forward_at(1.0).volts,
                     {0.915, 0.0, 6e-4, "computed from [1N4007-SPICE], 1 A, 26.85 C"}));
  EXPECT_TRUE(agrees(forward_at(0.1).volts,
                     {0.791, 0.0, 6e-4, "computed from [1N4007-SPICE], 0.1 A, 26.85 C"}));
}

TEST(DiodeForward, FollowsTheShockleyLawOverSixDecades) {
  for (const double amps : {1e-5, 1e-3, 0.1, 1.0, 10.0}) {
    const Point found = forward_at(amps);
    EXPECT_TRUE(agrees(found.volts,
                       {closed_form_v(found.amps), 2e-4, 0.0, "by hand: Shockley's law at 27 C"}));
  }
}

// [1N4007-DS]: at most 1.1 V at 1 A, 0.93 V typical; makers spread by some percent.
TEST(DiodeForward, KeepsTheDataSheet) {
  const double volts = forward_at(1.0).volts;
  EXPECT_LE(volts, 1.1);
  EXPECT_TRUE(agrees(volts, {0.93, 0.03, 0.0, "[1N4007-DS] typical at 1 A, from memory"}));
}

}  // namespace
}  // namespace firstglow::published
