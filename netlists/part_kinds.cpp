#include "netlists/part_kinds.hpp"

namespace firstglow::netlists {
namespace {

constexpr double kSmallestFilterFarad = 0.25e-6;

}  // namespace

bool is_series_resistor(const core::Part& part) {
  const auto* resistor = std::get_if<core::Resistor>(&part.data);
  return resistor != nullptr && (resistor->role == core::ResistorRole::plain ||
                                 resistor->role == core::ResistorRole::dropper);
}

bool is_path_part(const core::Part& part) {
  return std::holds_alternative<core::Fuse>(part.data) ||
         std::holds_alternative<core::NtcLimiter>(part.data) ||
         std::holds_alternative<core::StepStart>(part.data) || is_series_resistor(part);
}

bool is_filter_capacitor(const core::Capacitor& capacitor) {
  return capacitor.dielectric == core::Dielectric::electrolytic ||
         capacitor.value.nominal().si() >= kSmallestFilterFarad;
}

bool draws_at(core::DrawnWhen when, Stage stage) {
  switch (when) {
    case core::DrawnWhen::always:
      return stage >= Stage::tubes_out;
    case core::DrawnWhen::tubes_in:
      return stage >= Stage::key_up;
    case core::DrawnWhen::key_up:
      return stage == Stage::key_up;
    case core::DrawnWhen::key_down:
      break;
  }
  return stage == Stage::key_down;
}

std::optional<double> return_ohm(const core::Part& part) {
  if (const auto* fuse = std::get_if<core::Fuse>(&part.data)) {
    return fuse->cold_resistance.si();
  }
  if (const auto* choke = std::get_if<core::Choke>(&part.data)) {
    return choke->dc_resistance.si();
  }
  if (is_series_resistor(part)) {
    return std::get<core::Resistor>(part.data).value.nominal().si();
  }
  return std::nullopt;
}

}  // namespace firstglow::netlists
