#include "tests/published/lab.hpp"

#include "sim/engine/worker_pool.hpp"
#include "sim/envelope/periodic_state.hpp"

namespace firstglow::published {

void with_engine(const std::function<void(sim::Engine&)>& work) {
  static sim::WorkerPool pool({1, {}});
  pool.for_each(1, [&](sim::Engine& engine, std::size_t) { work(engine); });
}

sim::Waveforms run(const netlists::Deck& deck, const sim::RunSpec& spec) {
  sim::Waveforms waves;
  with_engine([&](sim::Engine& engine) { waves = engine.run(deck, spec); });
  return waves;
}

netlists::Deck settled(const netlists::Deck& deck, double hertz, int steps_per_cycle) {
  sim::PeriodicProblem problem;
  problem.deck = deck;
  problem.period_s = 1.0 / hertz;
  problem.steps_per_cycle = steps_per_cycle;
  netlists::Deck result;
  with_engine([&](sim::Engine& engine) {
    sim::PeriodicSolver solver(engine);
    result = sim::deck_at(problem, solver.solve(problem, {netlists::start_state(deck), {}}));
  });
  return result;
}

sim::Waveforms settled_cycle(const netlists::Deck& deck, const CyclePlan& plan) {
  const bool has_state = !netlists::state_elements(deck).empty();
  const double period_s = 1.0 / plan.hertz;
  sim::RunSpec spec;
  spec.save_from_s = has_state ? 0.0 : period_s;
  spec.stop_s = spec.save_from_s + period_s;
  spec.max_step_s = period_s / plan.steps_per_cycle;
  spec.nodes = plan.nodes;
  spec.currents = plan.currents;
  return run(has_state ? settled(deck, plan.hertz, plan.steps_per_cycle) : deck, spec);
}

netlists::DiodeElement near_ideal_diode(netlists::DeckNode anode, netlists::DeckNode cathode) {
  return {anode, cathode, 1e-9, 0.1, 1e-3, 0.0};
}

}  // namespace firstglow::published
