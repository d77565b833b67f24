#include "sim/studies/situation_words.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

std::string with_corner(const std::string& words, const netlists::Situation& situation) {
  const std::string corner = corner_words(situation.corner);
  return corner.empty() ? words : words + ", " + corner;
}

bool has_rectifier_tube(const core::Rig& rig) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [](const core::Part& part) {
    return core::rectifier_heater(part) != nullptr;
  });
}

}  // namespace

std::string corner_words(const std::map<std::string, double>& corner) {
  std::string words;
  for (const auto& [part, direction] : corner) {
    words +=
        fmt::format("{}{} {}", words.empty() ? "" : ", ", part, direction > 0.0 ? "high" : "low");
  }
  return words;
}

std::string steady_words(const core::Rig& rig, const netlists::Situation& situation) {
  return with_corner(
      fmt::format("steady, {}, line {:.3g} V rms", netlists::stage_words(situation.stage),
                  variac_volts_of(rig, situation)),
      situation);
}

std::string switch_on_words(const core::Rig& rig, const netlists::Situation& situation) {
  const char* how = has_rectifier_tube(rig) ? "switch-on, rectifier tube hot" : "cold switch-on";
  return with_corner(fmt::format("{}, {}, line {:.3g} V rms, closed at {:.0f} deg", how,
                                 netlists::stage_words(situation.stage),
                                 variac_volts_of(rig, situation), situation.closing_angle_deg),
                     situation);
}

}  // namespace firstglow::sim
