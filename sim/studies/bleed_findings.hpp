#pragma once
/// @file
/// Is the discharge quick enough, and do its resistors last?

#include <map>
#include <optional>
#include <vector>

#include "sim/studies/bleed.hpp"
#include "sim/studies/bleed_islands.hpp"
#include "sim/studies/bleed_start.hpp"

namespace firstglow::sim {

/// Time of every capacitor of the intact case against the time asked for, else that of the limit,
/// else the code's time for power capacitors in its circuit.
[[nodiscard]] std::vector<core::Finding> discharge_findings(const BleedCircuit& circuit,
                                                            const DischargeCase& intact,
                                                            const WorstStart& start,
                                                            std::optional<core::Seconds> within);

/// Duty of bleeders and equalisers, and its findings.
[[nodiscard]] std::vector<BleederDuty> bleeder_duties(const core::Rig& rig,
                                                      const WorstStart& start);
[[nodiscard]] std::vector<core::Finding> duty_findings(const std::vector<BleederDuty>& duties,
                                                       const WorstStart& start);

/// A run or a case without an answer.
[[nodiscard]] core::Finding no_answer(const std::string& what, const std::string& why);

}  // namespace firstglow::sim
