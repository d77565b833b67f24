#include "sim/engine/run_failure.hpp"

#include <fmt/format.h>

namespace firstglow::sim {

core::SimulationError simulation_error(const netlists::Deck& deck, const RunSpec& spec,
                                       const RunFailure& failure) {
  core::SimulationError::Detail detail;
  detail.reached_s = failure.reached_s;
  detail.solver_lines = failure.solver_lines;
  detail.part_indices = parts_at_failure(deck, failure);
  return {fmt::format("the circuit run gave no trustworthy result, also with finer steps: {} "
                      "(reached {:.6g} s of {:.6g} s); no verdict",
                      failure.message, failure.reached_s, spec.stop_s),
          std::move(detail)};
}

core::SimulationError with_part_names(const core::SimulationError& error,
                                      const std::function<std::string(int)>& designator) {
  core::SimulationError::Detail detail = error.detail();
  if (detail.part_indices.empty()) {
    return error;
  }
  std::string names;
  for (const int part : detail.part_indices) {
    names += (names.empty() ? "'" : ", '") + designator(part) + "'";
  }
  detail.part = designator(detail.part_indices.front());
  return {fmt::format("at {}: {}; look at the values and connections of these parts", names,
                      error.what()),
          std::move(detail)};
}

}  // namespace firstglow::sim
