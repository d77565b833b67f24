// Discharges with answers on paper, and random networks against the engine.
#include "sim/studies/linear_discharge.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "core/error.hpp"
#include "sim/engine/worker_pool.hpp"

namespace firstglow::sim {
namespace {

/// Networks written down by node numbers.
struct Sketch {
  LinearNetwork network;

  explicit Sketch(int nodes) { network.node_count = nodes; }
  Sketch& r(int a, int b, double ohm) {
    network.resistors.push_back({a, b, ohm, -1});
    return *this;
  }
  Sketch& c(int a, int b, double farad) {
    network.capacitors.push_back({a, b, farad, -1});
    return *this;
  }
  Sketch& l(int a, int b, double henry) {
    network.inductors.push_back({a, b, henry, -1});
    return *this;
  }
  Sketch& d(int anode, int cathode) {
    network.diodes.push_back({anode, cathode, -1});
    return *this;
  }
  [[nodiscard]] LinearDischarge discharge() const { return LinearDischarge(network); }
};

// By hand: 10 uF on 100 k, 500 V to 50 V takes R C ln 10.
TEST(LinearDischarge, OneCapacitorFollowsTheExponential) {
  const auto course = Sketch(2).c(1, 0, 10e-6).r(1, 0, 100e3).discharge().from({500.0});
  EXPECT_NEAR(course.last_above(0, 50.0).value(), std::log(10.0), 1e-9);
  EXPECT_NEAR(course.state_at(0, 1.0), 500.0 * std::exp(-1.0), 1e-9);
}

TEST(LinearDischarge, IsZeroWhenAlreadyBelow) {
  const auto course = Sketch(2).c(1, 0, 10e-6).r(1, 0, 100e3).discharge().from({-49.9});
  EXPECT_EQ(course.last_above(0, 50.0).value(), 0.0);
}

// The other polarity takes the same time.
TEST(LinearDischarge, CountsTheMagnitude) {
  const auto course = Sketch(2).c(0, 1, 10e-6).r(1, 0, 100e3).discharge().from({-500.0});
  EXPECT_NEAR(course.last_above(0, 50.0).value(), std::log(10.0), 1e-9);
}

TEST(LinearDischarge, FloatingCapacitorNeverEmpties) {
  const auto course =
      Sketch(4).c(1, 2, 10e-6).r(1, 3, 1e3).c(3, 0, 1e-6).discharge().from({300.0, 0.0});
  EXPECT_FALSE(course.last_above(0, 50.0));
  EXPECT_NEAR(course.state_at(0, 1e7), 300.0, 1e-6);
}

// By hand: equal R C on both, so each can empties by itself even with unequal volts.
TEST(LinearDischarge, SeriesCapacitorsWithEqualisersEmptyEachByItself) {
  const auto course = Sketch(3)
                          .c(1, 2, 20e-6)
                          .c(2, 0, 40e-6)
                          .r(1, 2, 100e3)
                          .r(2, 0, 50e3)
                          .discharge()
                          .from({400.0, 200.0});
  EXPECT_NEAR(course.last_above(0, 50.0).value(), 2.0 * std::log(8.0), 1e-9);
  EXPECT_NEAR(course.last_above(1, 50.0).value(), 2.0 * std::log(4.0), 1e-9);
}

// By hand: series capacitors with only a bleeder across both keep half their difference.
TEST(LinearDischarge, BleederAcrossAStackLeavesTheDifference) {
  const auto course =
      Sketch(3).c(1, 2, 10e-6).c(2, 0, 10e-6).r(1, 0, 100e3).discharge().from({500.0, 300.0});
  EXPECT_FALSE(course.last_above(0, 50.0));
  EXPECT_NEAR(course.state_at(0, 1e6), 100.0, 1e-6);
  EXPECT_NEAR(course.state_at(1, 1e6), -100.0, 1e-6);
}

// By hand: 1 H, 100 uF, 20 ohm in series: w0 = 100 /s, decay 10 /s, v = V e^-at (cos wt + a/w sin
// wt).
TEST(LinearDischarge, RingsThroughAChoke) {
  const auto course =
      Sketch(3).c(1, 0, 100e-6).l(1, 2, 1.0).r(2, 0, 20.0).discharge().from({200.0, 0.0});
  const double w = std::sqrt(100.0 * 100.0 - 10.0 * 10.0);
  for (const double t : {0.001, 0.01, 0.05, 0.2}) {
    const double by_hand =
        200.0 * std::exp(-10.0 * t) * (std::cos(w * t) + 10.0 / w * std::sin(w * t));
    EXPECT_NEAR(course.state_at(0, t), by_hand, 1e-8);
  }
  // every later swing counts: after the time found nothing is above 50 V, just before it is
  const double last_s = course.last_above(0, 50.0).value();
  EXPECT_GT(last_s, 0.1);
  for (int i = 0; last_s + 1e-4 * i < 1.0; ++i) {
    EXPECT_LE(std::abs(course.state_at(0, last_s * 1.0001 + 1e-4 * i)), 50.0);
  }
  EXPECT_GT(std::abs(course.state_at(0, last_s * 0.9999)), 49.9);
}

// By hand: R = 2 sqrt(L / C) has only one rate a = R / 2L, v = V (1 + a t) e^-at; its eigenvectors
// fall together, so the other way of exp() is taken.
TEST(LinearDischarge, CriticalDampingNeedsNoEigenvectors) {
  const auto discharge = Sketch(3).c(1, 0, 100e-6).l(1, 2, 1.0).r(2, 0, 200.0).discharge();
  EXPECT_TRUE(discharge.nearly_defective());
  const auto course = discharge.from({200.0, 0.0});
  for (const double t : {0.001, 0.01, 0.05}) {
    EXPECT_NEAR(course.state_at(0, t), 200.0 * (1.0 + 100.0 * t) * std::exp(-100.0 * t), 1e-8);
  }
}

// A milliohm beside megohms: 14 decades of rates, and still the slow one is right.
TEST(LinearDischarge, SmallSeriesResistanceDoesNotSpoilTheSlowRate) {
  const auto course = Sketch(4)
                          .c(1, 0, 10e-9)
                          .r(1, 3, 1e-3)
                          .c(2, 0, 100e-6)
                          .r(2, 3, 1e-3)
                          .r(3, 0, 10e6)
                          .discharge()
                          .from({500.0, 500.0});
  const double by_hand_s = 10e6 * (100e-6 + 10e-9) * std::log(10.0);
  EXPECT_NEAR(course.last_above(1, 50.0).value(), by_hand_s, 1e-5 * by_hand_s);
}

TEST(LinearDischarge, RefusesCapacitorsInParallelWithoutResistance) {
  EXPECT_THROW((void)Sketch(2).c(1, 0, 1e-6).c(1, 0, 1e-6).discharge(), core::ContractError);
}

TEST(LinearDischarge, EnergyAndVoltsBelongTogether) {
  EXPECT_NEAR(volts_at_energy(20e-6, 10.0), 1000.0, 1e-9);
}

// The bound of a box is reached by one of its corners and passed by no start inside.
TEST(LinearDischarge, BoxBoundsEveryStartInside) {
  const auto discharge =
      Sketch(3).c(1, 2, 60e-6).c(2, 0, 36e-6).r(1, 2, 50e3).r(2, 0, 50e3).r(1, 0, 25e3).discharge();
  const std::vector<double> low{350.0, 300.0}, high{600.0, 590.0};
  const auto bound = discharge.from_box(low, high);
  std::mt19937 random(7);
  std::uniform_real_distribution<double> share(0.0, 1.0);
  for (int i = 0; i < 200; ++i) {
    const double a = i < 4 ? i % 2 : share(random);
    const double b = i < 4 ? (i >= 2 ? 1.0 : 0.0) : share(random);
    const auto course =
        discharge.from({low[0] + a * (high[0] - low[0]), low[1] + b * (high[1] - low[1])});
    for (std::size_t k = 0; k < 2; ++k) {
      EXPECT_LE(course.last_above(k, 50.0).value(), bound.last_above(k, 50.0).value() + 1e-9);
    }
  }
  // the one with less charge hurries the other less, so "all at their highest" is not the worst
  EXPECT_LT(discharge.from(high).last_above(0, 50.0).value() * 1.1,
            bound.last_above(0, 50.0).value());
  const auto worst = discharge.from(bound.start_of_largest(0, 1.0));
  EXPECT_NEAR(std::abs(worst.state_at(0, 1.0)), bound.state_at(0, 1.0), 1e-9);
}

TEST(LinearDischarge, SeesADiodeThatWouldConduct) {
  // 100 uF behind a diode that looks at an emptier 1 uF
  const auto forward = Sketch(3)
                           .c(1, 0, 100e-6)
                           .r(1, 0, 1e6)
                           .c(2, 0, 1e-6)
                           .r(2, 0, 1e3)
                           .d(1, 2)
                           .discharge()
                           .from({100.0, 100.0});
  EXPECT_GT(forward.largest_forward_v(), 50.0);
  const auto blocked = Sketch(3)
                           .c(1, 0, 100e-6)
                           .r(1, 0, 1e6)
                           .c(2, 0, 1e-6)
                           .r(2, 0, 1e3)
                           .d(2, 1)
                           .discharge()
                           .from({100.0, 100.0});
  EXPECT_LE(blocked.largest_forward_v(), 1e-9);
}

// The AC side of a bridge has no reference: it lies where no diode need conduct.
TEST(LinearDischarge, FloatingWindingBehindABridgeKeepsItsDiodesBlocked) {
  const auto sketch =
      Sketch(4).c(1, 0, 10e-6).r(1, 0, 50e3).r(2, 3, 60.0).d(2, 1).d(3, 1).d(0, 2).d(0, 3);
  EXPECT_LE(sketch.discharge().from({400.0}).largest_forward_v(), 1e-9);
  EXPECT_GT(sketch.discharge().from({-400.0}).largest_forward_v(), 100.0);
}

/// A random network of resistors and grounded or floating capacitors as a deck.
netlists::BuiltDeck random_deck(std::mt19937& random) {
  std::uniform_real_distribution<double> decade(0.0, 1.0);
  const int nodes = 4;
  netlists::BuiltDeck built;
  for (int node = 1; node <= nodes; ++node) {
    built.deck.add_node();
  }
  const auto ohm = [&] { return std::pow(10.0, 3.0 + 2.0 * decade(random)); };
  for (int node = 1; node <= nodes; ++node) {
    const int other = static_cast<int>(random() % static_cast<unsigned>(node));
    built.deck.add(node,
                   netlists::CapacitorElement{node, other, std::pow(10.0, -6.0 + decade(random)),
                                              600.0 * decade(random) - 200.0});
    built.deck.add(-1, netlists::ResistorElement{
                           node, static_cast<int>(random() % static_cast<unsigned>(node)), ohm()});
  }
  built.deck.add(-1, netlists::ResistorElement{nodes, 1, ohm()});
  return built;
}

// Same network through ngspice, within 0.1 % of the largest start.
TEST(LinearDischarge, AgreesWithTheEngineOnRandomNetworks) {
  std::mt19937 random(2024);
  std::vector<netlists::BuiltDeck> decks;
  decks.reserve(20);
  for (int i = 0; i < 20; ++i) {
    decks.push_back(random_deck(random));
  }
  std::vector<double> worst(decks.size(), 1.0);
  WorkerPool pool(PoolOptions{2, ""});
  pool.for_each(decks.size(), [&](Engine& engine, std::size_t i) {
    RunSpec spec;
    spec.stop_s = 0.2;
    spec.max_step_s = 2e-5;
    for (netlists::DeckNode node = 0; node < decks[i].deck.node_count; ++node) {
      spec.nodes.push_back(node);
    }
    const Waveforms waves = engine.run(decks[i].deck, spec);
    const LinearNetwork network = linear_network(decks[i]);
    const std::vector<double> start = netlists::start_state(decks[i].deck);
    const auto course = LinearDischarge(network).from(start);
    double largest = 0.0, off = 0.0;
    for (std::size_t k = 0; k < start.size(); ++k) {
      largest = std::max(largest, std::abs(start[k]));
      const LinearBranch& c = network.capacitors[k];
      for (std::size_t t = 0; t < waves.time_s.size(); t += 50) {
        const double engine_v = waves.node_v[static_cast<std::size_t>(c.a)][t] -
                                waves.node_v[static_cast<std::size_t>(c.b)][t];
        off = std::max(off, std::abs(engine_v - course.state_at(k, waves.time_s[t])));
      }
    }
    worst[i] = off / largest;
  });
  for (const double off : worst) {
    EXPECT_LT(off, 1e-3);
  }
}

}  // namespace
}  // namespace firstglow::sim
