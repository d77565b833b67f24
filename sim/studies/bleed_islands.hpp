#pragma once
/// @file
/// How long does each capacitor of one switched-off circuit take, at its slowest tolerance corner?

#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/bleed_box.hpp"
#include "sim/studies/bleed_limits.hpp"
#include "sim/studies/linear_discharge.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {

/// What was found for one capacitor.
struct CapacitorCourse {
  std::vector<std::optional<double>> time_s;  ///< by limit, each at its own slowest corner
  Corner corner;                              ///< slowest for the first limit
  double capacitance_f = 0.0;                 ///< at that corner
};

/// A part of the circuit that hangs together without the chassis.
struct BleedIsland {
  std::set<int> parts;
  std::map<int, CapacitorCourse> capacitors;  ///< by part index
};

/// Do the courses start anywhere in the box of all moments, or from the nominal moment?
enum class BleedStart { box, nominal };

/// Boxes by their capacitors and what is lifted.
struct StartBoxMemory {
  std::mutex mutex;
  std::map<std::tuple<BleedStart, std::set<std::string>, std::set<int>>, StartBox> known;
};

/// Networks with what is lifted, nominal or with one part at an end of its tolerance.
struct NetworkMemory {
  std::mutex mutex;
  std::map<std::pair<std::set<std::string>, Corner>, LinearNetwork> known;
};

struct BleedCircuit {
  const core::Rig& rig;
  const std::vector<ChargeMoment>& moments;  ///< starts that count for the slowest course
  const std::vector<ChargeMoment>& nominal;  ///< of these the fullest starts the nominal course
  const std::vector<BleedLimit>& limits;
  /// A capacitor with a meter of 10 Mohm left across it; only its island is then looked at.
  std::optional<int> metered = std::nullopt;
  /// Boxes of starts made so far: they do not depend on the corner.
  std::shared_ptr<StartBoxMemory> boxes = std::make_shared<StartBoxMemory>();
  std::shared_ptr<NetworkMemory> networks = std::make_shared<NetworkMemory>();
};

/// The circuit with the plug out, without its meter. A branch belongs to one part and has the value
/// that this part gives it: a corner of many parts is put together from those of one.
[[nodiscard]] LinearNetwork network_at_corner(const BleedCircuit& circuit,
                                              const std::set<std::string>& lifted,
                                              const Corner& corner);

/// Ohms of that meter at the upper end of its band (common practice, no source: 10 Mohm, 2 %).
inline constexpr double kLeftMeterOhm = 10.2e6;

/// Volts of a limit for a capacitor: over a box of starts those of its largest capacitance, so that
/// a limit in joules or coulombs holds for every value in its tolerance, not only at its ends.
[[nodiscard]] double limit_volts(const BleedCircuit& circuit, const BleedLimit& limit,
                                 const LinearBranch& capacitor, BleedStart from);

/// Corners are searched, not proved to be the worst: a stack or a choke can be slowest somewhere
/// between them. So every time of an island with more than one capacitor or with a choke is that of
/// a limit lower by kGuardVolts, and longer by kGuardTime. Sizes from tests/optimism, where they
/// leave no answer too short. One capacitor alone is slowest at the high ends of R and C.
inline constexpr double kGuardVolts = 0.97;
inline constexpr double kGuardTime = 1.03;

/// Tolerances are searched over every corner up to this many parts in an island, above that each
/// part by itself and then all that slow a capacitor down together.
inline constexpr std::size_t kMostExhaustiveParts = 11;

/// Every island with capacitors, with `lifted` taken out. From the box with all tolerance corners;
/// from the nominal moment with nominal values.
[[nodiscard]] std::vector<BleedIsland> bleed_islands(const BleedCircuit& circuit,
                                                     const std::set<std::string>& lifted,
                                                     BleedStart from);

/// The whole circuit at a corner, and where it starts.
struct BleedModel {
  LinearNetwork network;
  StartBox start;  ///< each island by itself: linear islands do not act on each other
  /// Islands that a diode joins act on each other: their moments are blown up together (with diodes
  /// too, twice the volts take the same course twice as high).
  StartBox joined_start;
  std::vector<int> joined;  ///< which of these a network node belongs to
  [[nodiscard]] int joined_of(const LinearBranch& branch) const;
  /// The course with every diode open, from `start`.
  [[nodiscard]] LinearDischarge::Course course(BleedStart from) const;
  /// The same from `joined_start`: does a diode see forward volts?
  [[nodiscard]] LinearDischarge::Course joined_course(BleedStart from) const;
  /// State of a capacitor by part index.
  [[nodiscard]] std::optional<std::size_t> state_of(int part) const;
};
[[nodiscard]] BleedModel bleed_model(const BleedCircuit& circuit,
                                     const std::set<std::string>& lifted, const Corner& corner,
                                     BleedStart from);

}  // namespace firstglow::sim
