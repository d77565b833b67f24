// Tubes in circuits with closed-form answers, and the solver's tube against ours.
#include <gtest/gtest.h>

#include <cmath>

#include "core/load_tube_types.hpp"
#include "netlists/tube_current.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "tests/published/gnucap_process.hpp"
#include "tests/published/lab.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using netlists::Deck;
using netlists::SpaceCurrentElement;

/// A tube on its grid's cathode, screen on plate: a diode of the 3/2-power law with almost no foot.
SpaceCurrentElement diode_law(int plate, double perveance) {
  core::TubeLaw law;
  law.perveance = perveance;
  law.tail_v = 0.01;
  return {plate, 0, 0, plate, plate, netlists::kSpaceWhole, law};
}

// By hand: V = v + R P v^1.5 with V = 300 V, R = 10 kohm, P = 4e-5. 69 V: 69 + 0.4 x 573.2 = 298.3,
// too little; 69.5 V: 69.5 + 0.4 x 579.4 = 301.3, too much; and so on.
double root_by_bisection(double supply_v, double ohm, double perveance) {
  double low = 0.0;
  double high = supply_v;
  for (int i = 0; i < 100; ++i) {
    const double middle = 0.5 * (low + high);
    (middle + ohm * perveance * std::pow(middle, 1.5) < supply_v ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

TEST(TubeProblems, DropperIntoADiodeOfTheThreeHalvesLaw) {
  Deck deck;
  const int supply = deck.add_node();
  const int plate = deck.add_node();
  deck.add(-1, netlists::DcSourceElement{supply, 0, 300.0});
  deck.add(-1, netlists::ResistorElement{supply, plate, 10e3});
  deck.add(-1, diode_law(plate, 4e-5));
  const auto waves = settled_cycle(deck, {60.0, 100, {plate}, {}});
  EXPECT_TRUE(agrees(waves.node_v[0].back(),
                     {root_by_bisection(300.0, 10e3, 4e-5), 1e-4, 0.0, "by hand: bisection"}));
}

// The same tube as a load on a full-wave supply, through gnucap's own power-law source.
TEST(TubeProblems, AgreesWithGnucap) {
  if (!gnucap_is_installed()) {
    GTEST_SKIP() << "gnucap is not installed";
  }
  Deck deck;
  const int output = deck.add_node();
  const int plate = deck.add_node();
  for (const double phase_deg : {0.0, 180.0}) {
    const int source = deck.add_node();
    const int end = deck.add_node();
    deck.add(-1, netlists::SineSourceElement{source, 0, 300.0, 60.0, phase_deg});
    deck.add(-1, netlists::ResistorElement{source, end, 60.0});
    deck.add(-1, netlists::DiodeElement{end, output, 76.9e-12, 1.45, 0.042, 0.0});
  }
  deck.add(-1, netlists::CapacitorElement{output, 0, 20e-6, 250.0});
  deck.add(-1, netlists::ResistorElement{output, plate, 4.7e3});
  deck.add(-1, diode_law(plate, 4e-5));
  const Deck start = settled(deck, 60.0, 400);
  const auto waves = settled_cycle(start, {60.0, 400, {output, plate}, {}});
  const auto means = gnucap_means(start, {0.5, 1.0 / 60.0 / 200.0, 1.0 / 60.0, {output, plate}});
  for (std::size_t i = 0; i < means.size(); ++i) {
    EXPECT_TRUE(agrees(sim::mean_of({waves.time_s, waves.node_v[i]}),
                       {means[i], 5e-3, 0.0, "[GNUCAP] same deck"}));
  }
}

// A whole tube at fixed volts: the current the solver lets flow through a small resistor is that
// of the law in C++, over grid volts from far below cut-off to zero.
TEST(TubeProblems, TheSolversTubeIsOurs) {
  const core::PowerTubeType& type = *core::find_power_tube_type("6146B");
  const core::TubeLaw law = core::law_through(type.point, type.tail_v);
  for (const double grid_v : {-150.0, -58.0, -30.0, -10.0, 0.0}) {
    for (const double plate_v : {5.0, 300.0}) {
      Deck deck;
      const int supply = deck.add_node();
      const int plate = deck.add_node();
      const int screen = deck.add_node();
      const int grid = deck.add_node();
      deck.add(-1, netlists::DcSourceElement{supply, 0, plate_v});
      deck.add(-1, netlists::DcSourceElement{screen, 0, 150.0});
      deck.add(-1, netlists::DcSourceElement{grid, 0, grid_v});
      const auto small = deck.add(-1, netlists::ResistorElement{supply, plate, 0.01});
      const SpaceCurrentElement tube{plate, 0, grid, screen, plate, netlists::kSpacePlate, law};
      const auto element = deck.add(-1, tube);
      const auto waves = settled_cycle(deck, {60.0, 50, {plate}, {small, element}});
      const double at_plate_v = waves.node_v[0].back();
      const double wanted_a = netlists::current_a(tube, {at_plate_v, grid_v, 150.0, at_plate_v});
      EXPECT_TRUE(agrees(waves.current_a[0].back(), {wanted_a, 1e-3, 1e-7, "core::TubeLaw"}))
          << grid_v;
      EXPECT_TRUE(agrees(waves.current_a[1].back(), {wanted_a, 1e-9, 0.0, "core::TubeLaw"}));
    }
  }
}

// By hand: grid current of 2.8 mA out of a node with nothing but 22 kohm to the chassis makes
// -61.6 V of it: the grid leak. The drive lets go only at three times its published 58 V.
TEST(TubeProblems, GridCurrentMakesTheGridNegative) {
  Deck deck;
  const int grid = deck.add_node();
  deck.add(-1, netlists::ResistorElement{grid, 0, 22e3});
  deck.add(-1, netlists::GridDriveElement{grid, 0, 2.8e-3, 174.0});
  const auto waves = settled_cycle(deck, {60.0, 50, {grid}, {}});
  EXPECT_TRUE(agrees(waves.node_v[0].back(), {-61.6, 1e-3, 0.0, "by hand: 2.8 mA x 22 kohm"}));
}

// ... and an open leak does not send the grid to minus infinity.
TEST(TubeProblems, TheDriveLetsGoOfAnOpenGridLeak) {
  Deck deck;
  const int grid = deck.add_node();
  deck.add(-1, netlists::ResistorElement{grid, 0, 1e9});
  deck.add(-1, netlists::GridDriveElement{grid, 0, 2.8e-3, 174.0});
  const auto waves = settled_cycle(deck, {60.0, 50, {grid}, {}});
  EXPECT_LT(waves.node_v[0].back(), -170.0);
  EXPECT_GT(waves.node_v[0].back(), -180.0);
}

}  // namespace
}  // namespace firstglow::published
