#pragma once
/// @file
/// Which discharge stick fits this rig, and what would a bare short do instead?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "core/units.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/bleed.hpp"

namespace firstglow::sim {

struct StickOptions {
  std::optional<core::Ohms> ohms;    ///< the stick at hand; empty: one is worked out
  std::optional<core::Watts> watts;  ///< its rating
  core::Seconds within{5.0};         ///< how long the hand should have to hold it
  BleedLimit limit = volts_limit(50.0);
  Progress progress;
};

/// A bare conductor across a charged capacitor.
struct HardShort {
  double ohm = 0.0;     ///< esr and lead
  double peak_a = 0.0;  ///< highest current
  double peak_s = 0.0;  ///< when
  double joules = 0.0;  ///< in spark, lead and esr together
  double i2t = 0.0;     ///< [A^2 s] through anything in the way: a shunt, a diode
};

/// The current of C, R and L in series from a charged C.
///
///     a = R / 2L, w0 = 1 / sqrt(L C);  highest at di/dt = 0;  i2t = E / R
///
/// Left out: the volts of the arc, which lower the current (safe side).
/// @throws ContractError when a value is not above 0.
/// Source: closed form of the series circuit, every text on circuits.
[[nodiscard]] HardShort hard_short(core::Volts charge, core::Farads farads, core::Ohms ohms,
                                   core::Henries henries);

/// The stick on one capacitor.
struct StickShot {
  std::string part;
  double start_v = 0.0, capacitance_f = 0.0;  ///< highest of any case; upper end of tolerance
  double peak_a = 0.0, peak_w = 0.0;
  double joules = 0.0;            ///< in the stick, until the limit
  std::optional<double> limit_s;  ///< held on until below the limit; empty: never
  double left_v = 0.0;            ///< then
  HardShort hard;
  std::optional<double> hook_s;  ///< how long the hook must stay on, see Rebound::short_needed_s
  std::vector<double> time_s, volts;
};

struct StickResult {
  double ohm = 0.0;
  bool worked_out = false;  ///< chosen here, not given
  double watts = 0.0;       ///< the rating it needs
  std::optional<double> given_watts;
  double working_v = 0.0;  ///< the volts it must stand
  BleedLimit limit;
  double within_s = 0.0;
  std::vector<StickShot> shots;  ///< most joules first
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
};

/// Start: the highest volts of each capacitor in any case of bleed(), one path open included.
/// Model: the network of bleed() without its bleeders and equalisers, which may be open, every
/// capacitor at its upper tolerance and highest volts, the stick across one capacitor at a time:
/// what hangs on it by chokes and droppers has to come out through the stick as well.
///
/// Ohms: at most 10 kohm (common practice, no source) and what empties every capacitor in time; at
/// least one ohm per volt [EIA-815], which keeps the spark to an ampere. Where the two cannot both
/// be had, the ampere comes first. Preferred values of twelve a decade [IEC-60063].
/// Watts: a wire-wound resistor stands ten times its watts for 5 s [MIL-R-26].
[[nodiscard]] StickResult stick(const core::Rig& rig, const StickOptions& options,
                                WorkerPool& pool);

/// The same, from a bleed-down that is there already.
/// @param bled  made with the limit of `options`
[[nodiscard]] StickResult stick(const core::Rig& rig, const StickOptions& options,
                                const BleedResult& bled);

}  // namespace firstglow::sim
