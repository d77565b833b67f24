#pragma once
/// @file
/// Which ohms are to be written down before power, and within which band?

#include <vector>

#include "core/rig.hpp"
#include "sim/report/sheet/blank.hpp"
#include "sim/studies/check.hpp"

namespace firstglow::sim {

/// What a meter counts as open where the prediction says so; "OL" is read as the top of this.
inline constexpr double kOpenFromOhm = 100e6;

/// Each node to the chassis, red lead on the node: the band over tolerance. Where a rectifier
/// conducts the reading depends on the meter, and there is no verdict.
[[nodiscard]] std::vector<Blank> node_ohms_blanks(const CheckResult& check);

/// Each bleeder and equaliser by itself, one end lifted: its tolerance.
[[nodiscard]] std::vector<Blank> bleeder_blanks(const core::Rig& rig);

/// One winding section or choke: within 10 % of the record (common practice, no source).
struct WindingBlank {
  std::string winding, between;  ///< "T1 plate", "HV1 to CT"
  Blank blank;
};
[[nodiscard]] std::vector<WindingBlank> winding_blanks(const core::Rig& rig);

}  // namespace firstglow::sim
