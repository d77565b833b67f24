#pragma once
/// @file
/// How is a failed run told to the caller, and to the user by the names of the parts?

#include <functional>
#include <string>

#include "core/error.hpp"
#include "sim/engine/run_outcome.hpp"

namespace firstglow::sim {

/// The error of a run that failed twice; Detail::part_indices holds the parts at the failing
/// node. The engine knows no designators: see with_part_names().
[[nodiscard]] core::SimulationError simulation_error(const netlists::Deck& deck,
                                                     const RunSpec& spec,
                                                     const RunFailure& failure);

/// The same error with the designators of its parts in the text and the first one in
/// Detail::part. `designator` is asked for indices into Rig::parts.
[[nodiscard]] core::SimulationError with_part_names(
    const core::SimulationError& error, const std::function<std::string(int)>& designator);

}  // namespace firstglow::sim
