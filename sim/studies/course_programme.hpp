#pragma once
/// @file
/// Which stretches of which circuits make up a ladder of variac steps?

#include <string>
#include <vector>

#include "netlists/deck_builder.hpp"
#include "sim/envelope/envelope.hpp"
#include "sim/studies/course.hpp"
#include "sim/studies/warm_resistors.hpp"

namespace firstglow::sim {

/// A stretch, and what its deck was built from.
struct CourseStretch {
  netlists::Situation situation;
  netlists::BuiltDeck built;
  WarmList warm;
  double length_s = 0.0;
};

struct CourseProgramme {
  std::vector<CourseStretch> stretches;
  std::vector<CourseStep> steps;          ///< without settled_s
  std::vector<std::size_t> last_of_step;  ///< stretch that a step ends with
  double off_at_s = 0.0;
  std::vector<std::size_t> main_nodes;  ///< node indices of the rig, from the last step
  std::string refusal;                  ///< why the ladder ended early; empty: it did not

  [[nodiscard]] std::vector<EnvelopeStretch> envelope() const;
};

/// Runs the steady state of every step to see what conducts there. @throws SimulationError
[[nodiscard]] CourseProgramme course_programme(Engine& engine, const core::Rig& rig,
                                               const CourseOptions& options);

}  // namespace firstglow::sim
