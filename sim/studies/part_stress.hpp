#pragma once
/// @file
/// How much heat, voltage and current does one part see in a run?

#include <optional>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {

/// Mean watts a part turns into heat over the run; empty when it is not in the circuit or its heat
/// is not its own (mains inlet, loads).
/// A transformer's watts are what goes in less what comes out: copper and core together.
[[nodiscard]] std::optional<double> dissipation_w(const core::Rig& rig, const RigRun& run,
                                                  int part);

/// Rules applied to rated parts. The order is the order of reports for equal margins.
enum class StressRule {
  capacitor_working_volts,  ///< steady peak volts in the right polarity
  capacitor_surge_volts,    ///< peak volts in a transient
  electrolytic_reverse_volts,
  capacitor_ripple_current,
  rectifier_piv,
  rectifier_average_current,
  rectifier_repetitive_peak,
  rectifier_surge_current,
  rectifier_string_piv,    ///< worst diode of a string, with equalisers or avalanche types
  rectifier_dc_current,    ///< of a tube with two plates, both together
  rectifier_heater_volts,  ///< rms, above rated
  heater_cathode_volts,
  resistor_watts,
  resistor_working_volts,
  choke_current,
  choke_insulation_volts,
  winding_current,
  fuse_current,
  variac_current,
  thermistor_current,
  step_start_watts,  ///< in the resistor of a step start whose relay does not close
  vr_tube_current,
  vr_tube_least_current,
  vr_tube_strike,
  tube_plate_watts,
  tube_screen_watts,
  tube_plate_volts,
  tube_screen_volts,
  tube_screen_volts_cut_off,
  tube_key_volts,
  tube_unbiased_plate_watts,
  tube_unbiased_screen_watts,
  tube_open_plate_screen_watts,
};

/// One number to hold against one rating; larger is worse.
struct Stress {
  int part = -1;
  int section = 0;  ///< winding index of a transformer: 0 primary, 1.. secondaries
  StressRule rule = StressRule::capacitor_working_volts;
  double value = 0.0;
  double at_s = 0.0;
};

/// Is this run one cycle of a steady situation, or a transient?
enum class RunKind { steady, transient };

/// Every stress the run puts on every rated kind of part in the circuit. Rules that need a steady
/// state (watts, average and rms currents, working volts) are left out of transients, and surge
/// rules out of steady runs.
[[nodiscard]] std::vector<Stress> stresses_of(const core::Rig& rig, const RigRun& run,
                                              RunKind kind);

}  // namespace firstglow::sim
