#include "sim/report/sheet/longest_discharge.hpp"

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

const CapacitorDischarge* find_part(const DischargeCase& one, const std::string& part) {
  const auto found =
      std::find_if(one.capacitors.begin(), one.capacitors.end(),
                   [&part](const CapacitorDischarge& here) { return here.part == part; });
  return found == one.capacitors.end() ? nullptr : &*found;
}

bool longer(const std::optional<double>& a, const std::optional<double>& b) {
  return b && (!a || *a > *b);
}

}  // namespace

LongestDischarge longest_discharge(const BleedResult& bleed, const std::string& part,
                                   DischargePaths paths) {
  LongestDischarge longest;
  for (const DischargeCase& one : bleed.cases) {
    if (one.open_part.empty() != (paths == DischargePaths::intact)) {
      continue;
    }
    if (!one.failure.empty()) {
      longest.failed = true;
      continue;
    }
    const CapacitorDischarge* here = find_part(one, part);
    if (here == nullptr || here->limits.empty()) {
      continue;
    }
    const std::optional<double>& time_s = here->limits.front().time_s;
    if (!longest.answered || longer(time_s, longest.time_s)) {
      longest.answered = true;
      longest.time_s = time_s;
      longest.case_name = one.name;
    }
  }
  return longest;
}

std::string discharge_words(const LongestDischarge& longest) {
  if (longest.failed) {
    return "NO ANSWER: treat as charged";
  }
  if (!longest.answered) {
    return "no case looked at";
  }
  return longest.time_s ? waiting_time(*longest.time_s) : "NEVER by itself";
}

std::optional<double> start_volts(const BleedResult& bleed, const std::string& part) {
  std::optional<double> highest;
  for (const DischargeCase& one : bleed.cases) {
    if (!one.failure.empty()) {
      return std::nullopt;
    }
    if (const CapacitorDischarge* here = find_part(one, part)) {
      highest = std::max(highest.value_or(0.0), std::abs(here->start_v));
    }
  }
  return highest;
}

}  // namespace firstglow::sim
