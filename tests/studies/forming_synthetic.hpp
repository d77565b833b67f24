#pragma once
/// @file
/// Logs of cans whose fate is known, made with the oxide law and noise.

#include <random>
#include <vector>

#include "core/forming_log.hpp"
#include "sim/studies/forming_judge.hpp"

namespace firstglow::test {

enum class Fate { forming, stuck, failing };

struct SyntheticLog {
  Fate fate = Fate::forming;
  std::vector<core::FormingReading> readings;
  sim::FormingFacts facts;
};

/// Draws cans, sources, reading times and noise until one has the fate that is asked for. The fate
/// is that of the noise-free course:
///   forming  comes below the limit within a day; the log ends at 25 to 110 % of that time
///   stuck    stands within 5 % of a final current above 1.2 times the limit, the can less than 10
///   K warm failing  has risen 15 to 300 % above its lowest when the log ends: by heat that the can
///   cannot
///            lose, or by a film that is being eaten away
/// 4 to 30 readings, evenly or ever wider apart, each with 1 to 3 % of noise and three digits. The
/// thermal resistance that the judge is told is off by up to 30 %.
[[nodiscard]] SyntheticLog synthetic_log(Fate fate, std::mt19937& random);

/// A can that fails by heat, its log ending while its current still falls.
[[nodiscard]] SyntheticLog early_failing_log(std::mt19937& random);

}  // namespace firstglow::test
