#pragma once
/// @file
/// To how many volts does each capacitor of the rig climb again after the stick was on it?

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "core/units.hpp"

namespace firstglow::sim {

struct ReboundOptions {
  core::Seconds shorted{2.0};        ///< how long the empty capacitor stays shorted
  core::Seconds charge{8 * 3600.0};  ///< how long it stood under volts before: an evening
  core::Seconds open{24 * 3600.0};   ///< how long the ends are watched: until the next day
  /// Absorption by designator, as a share by the test of its dielectric; others by their kind.
  std::map<std::string, double> share;
};

struct Rebound {
  std::string part;
  std::string dielectric;  ///< in words
  double share = 0.0;      ///< absorption taken, by `test`
  std::string test, source, status;
  double start_v = 0.0;  ///< magnitude at switch-off
  double limit_v = 0.0;
  double peak_v = 0.0;                  ///< highest with the ends open
  std::optional<double> above_after_s;  ///< when it passes the limit; empty: it does not
  /// How long the short must stay on to remain below the limit; empty: a month is not enough.
  std::optional<double> short_needed_s;
  std::vector<double> time_s, volts;  ///< with the ends open, from the release of the short
};

/// Model and what is left out: sim/studies/absorption.hpp.
/// @param start_v  volts at switch-off by part index, either sign
/// @param limit_v  volts to stay below by part index, > 0
[[nodiscard]] std::vector<Rebound> rebounds(const core::Rig& rig,
                                            const std::map<int, double>& start_v,
                                            const std::map<int, double>& limit_v,
                                            const ReboundOptions& options);

}  // namespace firstglow::sim
