#include "sim/app/part_choice.hpp"

#include <fmt/format.h>

#include <charconv>
#include <optional>
#include <vector>

#include "core/nearest_word.hpp"
#include "core/written_text.hpp"
#include "sim/app/usage_error.hpp"

namespace firstglow::sim {
namespace {

/// A decimal number followed by `unit`; empty when it is anything else.
std::optional<double> number_with(std::string_view text, std::string_view unit) {
  text = core::trimmed(text);
  if (!text.ends_with(unit)) {
    return std::nullopt;
  }
  text = core::trimmed(text.substr(0, text.size() - unit.size()));
  double value = 0.0;
  const char* end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value, std::chars_format::fixed);
  return read.ec == std::errc() && read.ptr == end ? std::optional(value) : std::nullopt;
}

std::string did_you_mean(const std::string& word, const std::vector<std::string>& known) {
  const std::string near = core::nearest_word(word, known);
  return near.empty() ? "" : fmt::format("; did you mean '{}'?", near);
}

}  // namespace

double option_celsius(const std::string& option, const std::string& text) {
  const std::optional<double> celsius = number_with(text, "C");
  if (!celsius || !(*celsius >= -40.0 && *celsius <= 150.0)) {
    throw UsageError(
        fmt::format("{}: '{}' is no temperature; write e.g. 40C (-40 to 150)", option, text));
  }
  return *celsius + 273.15;
}

double option_percent(const std::string& option, const std::string& text) {
  const std::optional<double> percent = number_with(text, "%");
  if (!percent || !(*percent > 0.0 && *percent <= 50.0)) {
    throw UsageError(
        fmt::format("{}: '{}' is no share; write e.g. 3% (above 0, up to 50)", option, text));
  }
  return *percent / 100.0;
}

const core::LeakageRule& option_leakage_rule(const std::string& key) {
  const core::LeakageRule* rule = core::find_leakage_rule(key);
  if (rule == nullptr) {
    throw UsageError(fmt::format(
        "--limit: '{}' is no leakage limit; expected period, 0.01cv, 0.03cv or power", key));
  }
  return *rule;
}

void require_electrolytic(const core::Rig& rig, const std::string& part) {
  std::vector<std::string> known;
  for (const core::Part& each : rig.parts) {
    const auto* can = std::get_if<core::Capacitor>(&each.data);
    if (can != nullptr && can->dielectric == core::Dielectric::electrolytic) {
      known.push_back(each.designator);
      if (each.designator == part) {
        return;
      }
    }
  }
  throw UsageError(
      fmt::format("'{}' is no electrolytic of this rig{}", part, did_you_mean(part, known)));
}

void require_node(const core::Rig& rig, const std::string& option, const std::string& node) {
  std::vector<std::string> known;
  for (const core::Node& each : rig.nodes) {
    known.push_back(each.name);
    if (each.name == node) {
      return;
    }
  }
  throw UsageError(
      fmt::format("{}: '{}' is no node of this rig{}", option, node, did_you_mean(node, known)));
}

void require_capacitor(const core::Rig& rig, const std::string& option, const std::string& part) {
  const core::Part* found = rig.find(part);
  if (found == nullptr || !std::holds_alternative<core::Capacitor>(found->data)) {
    throw UsageError(fmt::format("{}: '{}' is no capacitor of this rig", option, part));
  }
}

}  // namespace firstglow::sim
