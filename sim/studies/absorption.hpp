#pragma once
/// @file
/// How far does a capacitor charge itself again after it was shorted, and how long must the short
/// stay on?

#include <optional>
#include <span>
#include <vector>

#include "core/rig.hpp"
#include "core/units.hpp"

namespace firstglow::sim {

/// A published way to measure absorption: charge, short, wait with the ends open, read.
struct AbsorptionTest {
  const char* words;
  const char* source;  ///< key in docs/references.md
  core::Seconds charge, shorted, open;
};

/// Charge 15 min, short 10 s, read after 15 min. Source: [WIMA-DA] on MIL-C-19978.
[[nodiscard]] const AbsorptionTest& military_absorption_test();
/// Charge 1 h, short 10 s, read after 15 min. Source: [GLASER-DA] on IEC 60384-1.
[[nodiscard]] const AbsorptionTest& iec_absorption_test();

/// What is published for a dielectric: share of the charging volts that comes back.
struct AbsorptionFigure {
  const char* dielectric;
  double low, high;            ///< range of the published figures
  const AbsorptionTest* test;  ///< by which it is measured
  const char* source;          ///< key in docs/references.md
  const char* status;          ///< how it was read
};

/// Wet aluminium, polypropylene, polyester, mixed, ceramics, paper in oil.
[[nodiscard]] std::span<const AbsorptionFigure> absorption_figures();

/// The figure a part of the record is taken to have: the highest of what its kind may be. A
/// film_capacitor may be film, mica or ceramic, so it counts as the worst ceramic.
[[nodiscard]] const AbsorptionFigure& figure_for(core::Dielectric dielectric);

/// Model: beside the capacitor C stand six branches, each a resistor in series with a capacitor
/// f_i C, of time constants 1 s to 1e5 s, a decade apart:
///
///     dv/dt = sum f_i (u_i - v) / tau_i,   du_i/dt = (v - u_i) / tau_i     (ends open),
///     u_i -> u_i exp(-t / tau_i)                                           (ends shorted).
///
/// f_i grows by one factor from decade to decade, chosen so that the one part measured twice
/// ([GLASER-DA]: 0.6706 V of 16 V after 15 min, 1.083 V after two weeks) gives both readings; the
/// size of all f_i together is fitted to one figure of one test. C drops out.
///
/// Left out, each on the safe side: leakage and bleeders, which pull the volts down again;
/// the volts of a short that is not quite zero count as zero, so a short through a resistor only
/// begins once the capacitor is empty (unsafe side: count the time of the short from then on).
class AbsorptionLadder {
 public:
  /// @param share  what comes back by `test`, 0 < share < 0.5
  /// @throws ContractError outside that range
  AbsorptionLadder(double share, const AbsorptionTest& test);

  /// Open-circuit volts over the volts it stood at, for so long charged, shorted, then left open.
  [[nodiscard]] double share_after(core::Seconds charge, core::Seconds shorted,
                                   core::Seconds open) const;
  /// Highest of them from the release of the short until `open`.
  [[nodiscard]] double highest_share(core::Seconds charge, core::Seconds shorted,
                                     core::Seconds open) const;
  /// Shortest short after which the volts stay below limit_share until `open`; 0 s when none is
  /// needed, empty when a month is not enough.
  [[nodiscard]] std::optional<core::Seconds> short_needed(core::Seconds charge, double limit_share,
                                                          core::Seconds open) const;

  /// f_i, from 1 s to 1e5 s.
  [[nodiscard]] const std::vector<double>& fractions() const { return fractions_; }

 private:
  std::vector<double> fractions_;  ///< f_i
};

}  // namespace firstglow::sim
