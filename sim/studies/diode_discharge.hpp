#pragma once
/// @file
/// How does a network empty itself when its rectifiers may conduct again on the way?

#include <map>
#include <memory>
#include <optional>
#include <vector>

#include "sim/studies/linear_discharge.hpp"

namespace firstglow::sim {

/// States of LinearDischarge at points of time.
struct DiodeWalk {
  std::vector<double> time_s;
  std::size_t state_count = 0;
  std::vector<double> states;  ///< by time, then state

  [[nodiscard]] double at(std::size_t point, std::size_t state) const {
    return states[point * state_count + state];
  }

  /// Last point at which |state| is above a limit, taken as the point after it (up to 5 % late,
  /// never early); 0 when it never is, empty when it still is after kForeverSeconds.
  [[nodiscard]] std::optional<double> last_above(std::size_t state, double limit) const;
  /// Straight line between points. @param time_s  0 to the last point
  [[nodiscard]] double state_at(std::size_t state, double time_s) const;
};

inline constexpr double kStepsPerSwing = 16.0;  ///< of a choke, at least, while it lasts

/// How closely a walk looks at the swings of chokes; apart from them the points of time stand 2 to
/// 5 % apart.
struct WalkGrid {
  double swing_step_s = 2e-3;  ///< steps no longer than this
  double swing_until_s = 2.0;  ///< until then; 0: nothing swings
};

/// Model: piecewise linear. A diode is open until it sees kTurnOnVolts forward, then it is kOnOhm
/// until its current would turn round. Between two such events the network is linear and is solved
/// by matrix exponential; the instant of an event is found by halving.
///
/// No forward drop: what lies behind the diode is charged by up to 0.7 V more (safe side), what
/// lies in front of it is emptied by as much more (unsafe side: the caller also counts the course
/// with every diode open). An island without reference conducts when its diodes leave it no place
/// to lie, then through the two that are tightest.
class DiodeDischarge {
 public:
  static constexpr double kTurnOnVolts = 0.3;
  static constexpr double kOnOhm = 1.0;

  explicit DiodeDischarge(LinearNetwork network, const WalkGrid& grid = {});
  ~DiodeDischarge();
  DiodeDischarge(DiodeDischarge&&) noexcept;

  /// From a start to kForeverSeconds; empty when two islands without reference meet in a diode or
  /// the diodes do not come to rest. Not for two threads at once.
  [[nodiscard]] std::optional<DiodeWalk> walk(const std::vector<double>& start);
  /// The same into a walk whose memory is used again; false when there is none.
  [[nodiscard]] bool walk(const std::vector<double>& start, DiodeWalk& into);
  /// The grid for networks like this one: kStepsPerSwing to the shortest swing of the modes that
  /// the walks so far went through, until a thousandth of the slowest is left, and some more.
  /// Swings gone before steps of 4 % are too long for them do not count.
  [[nodiscard]] WalkGrid grid_of_swings() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace firstglow::sim
