#pragma once
/// @file
/// Between which volts may each capacitor of an island lie when the discharge begins?

#include <map>
#include <set>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/bleed_start.hpp"

namespace firstglow::sim {

/// Range of the volts (plus to minus) of one capacitor.
struct StartRange {
  double low_v = 0.0, high_v = 0.0;
  /// The end of larger magnitude.
  [[nodiscard]] double largest() const;
};
using StartBox = std::map<int, StartRange>;  ///< by part index

/// The box round all moments, for capacitors that hang together.
///
/// The largest charge of every capacitor at once is no worst case: where two stand in series, the
/// one with less charge hurries the other's discharge less. So each moment is first blown up until
/// some capacitor has the largest volts that it has at any moment (the course is linear, so this
/// only raises it), and then the lowest and highest volts of each capacitor span the box.
/// Moments at which no capacitor has 5 % of its largest volts say nothing of sharing and are left
/// out. Capacitors at a joint without a resistor across either side may have anything from nothing
/// to the volts of the whole stack: their sharing rests on leakage that nobody knows.
///
/// A capacitor that no moment names is not in the box.
[[nodiscard]] StartBox start_box(const core::Rig& rig, const std::vector<ChargeMoment>& moments,
                                 const std::set<int>& capacitors,
                                 const std::set<std::string>& lifted);

/// The moment of most energy in these capacitors, as a box without width; of nominal capacitances.
[[nodiscard]] StartBox fullest_moment(const core::Rig& rig,
                                      const std::vector<ChargeMoment>& moments,
                                      const std::set<int>& capacitors);

}  // namespace firstglow::sim
