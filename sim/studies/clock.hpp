#pragma once
/// @file
/// Which discharge path is missing or off its value, by what a meter and a clock said?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct ClockReading {
  double time_s = 0.0;  ///< after switch-off
  double volts = 0.0;   ///< > 0
};

struct ClockOptions {
  std::vector<ClockReading> readings;  ///< by rising time; one alone: the start is predicted
  std::string node;                    ///< to the chassis; empty: the node of the most DC volts
  std::string part;                    ///< across this capacitor instead
  double meter_ohm = 10e6;             ///< left on while it falls; 0: none
  double volts_share = 0.02;           ///< standard deviation of a reading, of its volts
  double hand_s = 0.5;                 ///< and of the stop watch
  Progress progress;
};

enum class ClockFault { intact, open, drifted, low_capacitance };

/// One thing that may be behind the readings.
struct ClockFit {
  std::string name;  ///< "intact", "R3 open", "R3 drifted", "C1 low"
  ClockFault fault = ClockFault::intact;
  std::string part;
  std::optional<double> factor;  ///< value over nominal, drifted and low only
  double rc_s = 0.0;             ///< effective, over the times of the readings
  std::vector<double> volts;     ///< predicted, scaled to the readings
  double off = 0.0;              ///< squared deviations over their variance, tolerance included
  bool fits = false, tie = false;
  bool seen = true;  ///< false: from here it looks like the intact rig
  std::string failure;
};

struct ClockResult {
  std::string place;  ///< "B+ to chassis"
  std::vector<ClockReading> readings;
  bool start_predicted = false;  ///< the first reading is the predicted start
  double rc_s = 0.0;             ///< effective: minus the slope of time against ln volts
  double rc_error_s = 0.0;       ///< standard deviation
  Band intact_rc_s;              ///< over all tolerances together
  std::vector<ClockFit> fits;    ///< best first
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
};

/// Largest `off` with which an explanation counts as fitting (about one in twenty true ones is
/// lost), and by how much it may be worse than the best and still be a tie.
inline constexpr double kClockFits = 6.0;
inline constexpr double kClockTie = 4.0;
/// What an explanation with a value to choose pays for it.
inline constexpr double kClockChoice = 1.0;

/// Compares the readings with the exact discharge of the rig intact, with each discharge path open,
/// each bleeder and equaliser raised by a factor up to 20, each filter capacitor lowered by one
/// down to 0.05.
///
/// The height of the start is left free (line and load of the day), so only the shape in time
/// counts; the time scale may stretch as far as the tolerances of the parts together would, at a
/// price: ln(stretch) is taken as normal with the tolerance band as two standard deviations.
/// Two faults at once are not tried. Leakage of capacitors is left out: it makes a fall faster.
/// @throws InputError for a node or part that is none; ContractError for times out of order
[[nodiscard]] ClockResult clock_test(const core::Rig& rig, const ClockOptions& options,
                                     WorkerPool& pool);

}  // namespace firstglow::sim
