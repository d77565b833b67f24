#include "sim/studies/regulator_states.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "core/error.hpp"
#include "sim/envelope/waveform_figures.hpp"

namespace firstglow::sim {
namespace {

constexpr double kSustainingShare = 0.01;

}  // namespace

double sustaining_a(const core::VrTube& tube) { return kSustainingShare * tube.least.si(); }

std::set<std::string> RegulatorStates::with_struck(const RigRun& run) {
  std::set<std::string> lit = lit_;
  for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
    const auto* tube = std::get_if<core::VrTube>(&rig_.parts[i].data);
    if (tube == nullptr || lit_.contains(rig_.parts[i].designator) || !run.has_node(tube->plus) ||
        !run.has_node(tube->minus)) {
      continue;
    }
    const double peak_v = highest_of(run.volts_between(tube->plus, tube->minus));
    double& highest_v = dark_v_.try_emplace(static_cast<int>(i), peak_v).first->second;
    highest_v = std::max(highest_v, peak_v);
    if (peak_v >= tube->strike.si()) {
      lit.insert(rig_.parts[i].designator);
    }
  }
  return lit;
}

std::set<std::string> RegulatorStates::without_starved(const RigRun& run) const {
  std::set<std::string> lit = lit_;
  for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
    const auto* tube = std::get_if<core::VrTube>(&rig_.parts[i].data);
    const std::vector<double>* amps = run.part_a(static_cast<int>(i));
    if (tube != nullptr && amps != nullptr && lowest_of(*amps) < sustaining_a(*tube)) {
      lit.erase(rig_.parts[i].designator);
    }
  }
  return lit;
}

bool RegulatorStates::revise(const RigRun& run) {
  std::set<std::string> next = with_struck(run);
  if (next == lit_) {
    next = without_starved(run);
  }
  if (next == lit_) {
    return false;
  }
  if (!tried_.insert(next).second) {
    throw core::SimulationError(
        fmt::format("no steady state found: of the vr tubes {} some strike and cannot hold their "
                    "glow (they flicker); no prediction is made for this situation",
                    fmt::join(next.empty() ? lit_ : next, ", ")),
        core::SimulationError::Detail{});
  }
  lit_ = std::move(next);
  return true;
}

}  // namespace firstglow::sim
