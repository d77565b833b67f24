#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "sim/engine/worker_pool.hpp"

namespace firstglow::sim {
namespace {

using netlists::Deck;

Waveforms run_once(const Deck& deck, const RunSpec& spec) {
  WorkerPool pool({1, {}});
  Waveforms result;
  pool.for_each(1, [&](Engine& engine, std::size_t) { result = engine.run(deck, spec); });
  return result;
}

// RC discharge: v = 100 exp(-t / RC), RC = 10 ms; the current through R is v / R.
TEST(EngineCircuits, CapacitorDischargesByTheExponential) {
  Deck deck;
  const int top = deck.add_node();
  deck.add(0, netlists::CapacitorElement{top, 0, 1e-5, 100.0});
  const int resistor = deck.add(1, netlists::ResistorElement{top, 0, 1e3});
  RunSpec spec;
  spec.stop_s = 0.02;
  spec.max_step_s = 1e-4;
  spec.nodes = {top, 0};
  spec.currents = {resistor, 0};
  const Waveforms w = run_once(deck, spec);
  ASSERT_EQ(w.node_v.size(), 2U);
  for (std::size_t i = 0; i < w.time_s.size(); ++i) {
    const double expected = 100.0 * std::exp(-w.time_s[i] / 0.01);
    EXPECT_NEAR(w.node_v[0][i], expected, 0.02);
    EXPECT_EQ(w.node_v[1][i], 0.0);
    EXPECT_NEAR(w.current_a[0][i], expected / 1e3, 2e-5);
    EXPECT_NEAR(w.current_a[1][i], -expected / 1e3, 2e-5);
  }
  EXPECT_NEAR(w.final_state.at(0), 100.0 * std::exp(-2.0), 0.02);
}

}  // namespace
}  // namespace firstglow::sim
