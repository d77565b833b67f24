#pragma once
/// @file
/// How long must a cold switch-on be followed to see what tolerances do to its peaks?

#include <map>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/stress_survey.hpp"

namespace firstglow::sim {

[[nodiscard]] bool has_step_start(const core::Rig& rig);

/// Time after which no tolerance corner can still bring a first peak [s]; at most `whole_s`.
///
/// Model: the last peak of the nominal rig, times what the swing of a choke with its capacitors is
/// longer with both at their upper ends, sqrt(C+ L+) of the rig's widest tolerances, times 1.1, and
/// three cycles. A nominal peak that some steady state goes beyond is no swing but the way there,
/// and that state is judged by itself. A step start gives a second switch-on when its relay
/// closes: then everything is followed to the end.
/// Left out: two swings of different filters that meet later in a corner than nominally.
///
/// @param nominal  stresses of the nominal rig at its worst closing angles
/// @param worst    worst stresses so far, steady ones among them
[[nodiscard]] double brief_switch_on_s(const core::Rig& rig, const std::vector<Stress>& nominal,
                                       const std::map<StressKey, WorstStress>& worst,
                                       double whole_s);

/// Did every peak of a run that ended at `stop_s` come well before its end, or stay below what some
/// steady state reaches?
[[nodiscard]] bool swings_are_over(const std::vector<Stress>& stresses,
                                   const std::map<StressKey, WorstStress>& worst, double stop_s);

}  // namespace firstglow::sim
