#pragma once
/// @file
/// What must stand at the head and the foot of everything that can be taken to the bench?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/report/page.hpp"

namespace firstglow::sim {

enum class Topic {
  check,
  rampup,
  course,
  margins,
  bleed,
  inrush,
  swap,
  drawer,
  lines,
  spread,
  stick,
  reform,
  clock,
  stacks,
  age,
  readings,
  netlist
};

/// Command name, e.g. "rampup".
[[nodiscard]] const char* topic_command(Topic topic);
/// The question the command answers, in words.
[[nodiscard]] const char* topic_question(Topic topic);

/// Short cautions, the general ones first, with the keys of their sources (docs/references.md).
[[nodiscard]] std::vector<std::string> cautions(Topic topic);

/// Order of work after switch-off: measure, resistor, measure, hook. [CAL-T8-2893] and others.
[[nodiscard]] std::vector<std::string> discharge_steps();

/// Title, rig, cautions.
void begin_report(Page& page, const core::Rig& rig, Topic topic);
/// Assumptions and the reminder of what the numbers are.
void end_report(Page& page, const std::vector<std::string>& assumptions);

}  // namespace firstglow::sim
