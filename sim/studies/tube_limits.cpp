#include "sim/studies/tube_limits.hpp"

namespace firstglow::sim {
namespace {

constexpr const char* kWindowSource = "current window in the record or of the type [VR-DS]";

/// Largest DC volts on an open key [V], [IEC-62368-1] energy class ES1.
constexpr double kKeyVolts = 60.0;

template <class Q>
std::optional<double> si_of(const std::optional<Q>& rating) {
  return rating ? std::optional(rating->si()) : std::nullopt;
}

}  // namespace

TubeLimit limit_of(const core::VrTube& tube, StressRule rule) {
  switch (rule) {
    case StressRule::vr_tube_current:
      return {tube.most.si(), kWindowSource,
              "too much for the glow: the series resistor is too small for no load at high line"};
    case StressRule::vr_tube_least_current:
      return {tube.least.si(), kWindowSource,
              "regulation is lost: the load takes what the tube needs, or it is dark"};
    default:
      return {tube.strike.si(), "strike volts in the record or of the type [VR-DS]",
              "it may stay dark, and what it feeds then sees unregulated volts"};
  }
}

TubeLimit limit_of(const core::PowerTube& tube, StressRule rule) {
  TubeLimit limit;
  limit.source = tube.ratings_source;
  const core::TubeRatings& ratings = tube.ratings;
  const bool keyed = tube.key == core::TubeKey::cathode;
  switch (rule) {
    case StressRule::tube_plate_watts:
      limit.value = si_of(ratings.plate_watts);
      limit.note =
          tube.driven ? "tuned and loaded; off resonance nearly all the input is heat" : "";
      break;
    case StressRule::tube_unbiased_plate_watts:
      limit.value = si_of(ratings.plate_watts);
      limit.note = "only if the bias fails: see that it is there before plate and screen volts";
      break;
    case StressRule::tube_screen_watts:
      limit.value = si_of(ratings.screen_watts);
      limit.idle = tube.triode;
      break;
    case StressRule::tube_unbiased_screen_watts:
      limit.value = si_of(ratings.screen_watts);
      limit.note = "only if the bias fails";
      break;
    case StressRule::tube_open_plate_screen_watts:
      limit.value = si_of(ratings.screen_watts);
      limit.note = "only if the plate lead opens: the screen becomes the plate";
      break;
    case StressRule::tube_plate_volts:
      limit.value = si_of(ratings.plate_volts);
      break;
    case StressRule::tube_screen_volts:
      limit.value = si_of(ratings.screen_volts);
      limit.idle = tube.triode;
      break;
    case StressRule::tube_screen_volts_cut_off:
      limit.value = si_of(ratings.screen_volts_cut_off);
      limit.only_if_known = true;
      limit.idle = tube.triode;
      break;
    default:
      limit.value = kKeyVolts;
      limit.source = "60 V d.c. of energy class ES1 [IEC-62368-1]";
      limit.note = "on the open key: use a relay, never a bare key";
      limit.idle = !keyed;
      break;
  }
  return limit;
}

std::vector<std::string> tube_assumptions(const core::Rig& rig) {
  std::string drawing;
  std::string regulating;
  for (const core::Part& part : rig.parts) {
    std::string* list = nullptr;
    if (std::holds_alternative<core::PowerTube>(part.data)) {
      list = &drawing;
    } else if (std::holds_alternative<core::VrTube>(part.data)) {
      list = &regulating;
    }
    if (list != nullptr) {
      *list += (list->empty() ? "" : ", ") + part.designator;
    }
  }
  std::vector<std::string> all;
  if (!drawing.empty()) {
    all.push_back(
        drawing +
        ": cathodes are cold for 11 to 30 s after switch-on (common practice, no source); "
        "behind silicon the supplies stand unloaded that long at the volts of cold "
        "switch-on and tubes out.");
    all.push_back(drawing +
                  ": an average tube of its type; a new one can draw half more at the same bias.");
  }
  if (!regulating.empty()) {
    all.push_back(regulating +
                  ": dark in every transient, so that what it feeds sees the unregulated volts.");
  }
  return all;
}

}  // namespace firstglow::sim
