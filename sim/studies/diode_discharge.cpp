#include "sim/studies/diode_discharge.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

using Mode = std::set<std::size_t>;  ///< indices of the diodes that conduct
using State = std::vector<double>;

constexpr double kFirstSecond = 1e-5;
constexpr double kShortRatio = 1.04;
constexpr double kLongRatio = 1.05;
constexpr double kRingStepSeconds = 2e-3;
constexpr double kRingUntilSeconds = 2.0;
constexpr double kTurnOffVolts = -1e-9;  ///< across kOnOhm
constexpr int kHalvings = 30;
constexpr int kMostEvents = 20000;

/// Fine at first, then often enough for the swings of a choke, then by a ratio.
std::vector<double> points_of_time() {
  std::vector<double> times{0.0, kFirstSecond};
  while (times.back() < kForeverSeconds) {
    const double last_s = times.back();
    double next_s = last_s * kLongRatio;
    if (last_s < kRingUntilSeconds) {
      next_s = std::min(last_s * kShortRatio, last_s + kRingStepSeconds);
    }
    times.push_back(next_s);
  }
  return times;
}

std::size_t at(int node) { return static_cast<std::size_t>(node); }

/// The network with some of its diodes conducting.
class ModeModel {
 public:
  ModeModel(const LinearNetwork& network, const Mode& mode)
      : network_(with_diodes(network, mode)),
        island_(islands_of(network_, true, true)),
        discharge_(network_) {}

  [[nodiscard]] State after(const State& x, double step_s, bool keep) {
    if (!keep) {
      return times(discharge_.propagator(step_s), x);
    }
    auto place = propagators_.find(step_s);
    if (place == propagators_.end()) {
      place = propagators_.emplace(step_s, discharge_.propagator(step_s)).first;
    }
    return times(place->second, x);
  }
  [[nodiscard]] State node_v(const State& x) const { return discharge_.node_volts(x); }
  [[nodiscard]] int island(int node) const { return island_[at(node)]; }

 private:
  static LinearNetwork with_diodes(LinearNetwork network, const Mode& mode) {
    for (const std::size_t i : mode) {
      const LinearDiode& diode = network.diodes[i];
      network.resistors.push_back(
          LinearBranch{diode.anode, diode.cathode, DiodeDischarge::kOnOhm, -1});
    }
    return network;
  }
  static State times(const std::vector<double>& matrix, const State& x) {
    State result(x.size(), 0.0);
    for (std::size_t row = 0; row < x.size(); ++row) {
      for (std::size_t column = 0; column < x.size(); ++column) {
        result[row] += matrix[row * x.size() + column] * x[column];
      }
    }
    return result;
  }

  LinearNetwork network_;
  std::vector<int> island_;
  LinearDischarge discharge_;
  std::map<double, std::vector<double>> propagators_;
};

}  // namespace

std::optional<double> DiodeWalk::last_above(std::size_t state, double limit) const {
  for (std::size_t i = time_s.size(); i-- > 0;) {
    if (std::abs(states[i][state]) > limit) {
      return i + 1 == time_s.size() ? std::nullopt : std::optional(time_s[i + 1]);
    }
  }
  return 0.0;
}

double DiodeWalk::state_at(std::size_t state, double time) const {
  const auto after = std::upper_bound(time_s.begin(), time_s.end(), time);
  if (after == time_s.end()) {
    return states.back()[state];
  }
  const auto i = static_cast<std::size_t>(after - time_s.begin());
  const double share = (time - time_s[i - 1]) / (time_s[i] - time_s[i - 1]);
  return states[i - 1][state] + share * (states[i][state] - states[i - 1][state]);
}

struct DiodeDischarge::Impl {
  LinearNetwork network;
  std::vector<double> times_s = points_of_time();
  std::map<Mode, ModeModel> models;
  bool floating_pair = false;  ///< two islands without reference met in a diode
  int events = 0;

  ModeModel& model(const Mode& mode) {
    auto place = models.find(mode);
    if (place == models.end()) {
      place = models.emplace(mode, ModeModel(network, mode)).first;
    }
    return place->second;
  }

  /// What the diodes do next in that state; the mode itself when nothing changes.
  Mode next_mode(const Mode& mode, const State& x) {
    ModeModel& now = model(mode);
    const State node_v = now.node_v(x);
    Mode next = mode;
    struct Room {
      double low_v = -std::numeric_limits<double>::infinity();
      double high_v = std::numeric_limits<double>::infinity();
      std::size_t from = 0, to = 0;  ///< diodes that set the two ends
    };
    std::map<int, Room> rooms;
    const int chassis = now.island(0);
    for (std::size_t i = 0; i < network.diodes.size(); ++i) {
      const LinearDiode& diode = network.diodes[i];
      const double forward_v = node_v[at(diode.anode)] - node_v[at(diode.cathode)];
      const int anode = now.island(diode.anode);
      const int cathode = now.island(diode.cathode);
      if (mode.contains(i)) {
        if (forward_v < kTurnOffVolts) {
          next.erase(i);
        }
      } else if (anode == cathode) {
        if (forward_v > kTurnOnVolts) {
          next.insert(i);
        }
      } else if (anode == chassis) {
        Room& room = rooms[cathode];
        if (forward_v > room.low_v) {
          room.low_v = forward_v;
          room.from = i;
        }
      } else if (cathode == chassis) {
        Room& room = rooms[anode];
        if (-forward_v < room.high_v) {
          room.high_v = -forward_v;
          room.to = i;
        }
      } else {
        floating_pair = true;
      }
    }
    for (const auto& [island, room] : rooms) {
      if (room.low_v - room.high_v > 2.0 * kTurnOnVolts) {
        next.insert(room.from);
        next.insert(room.to);
      }
    }
    return next;
  }

  /// Lets the diodes switch until they rest; false when they never do.
  bool settle(Mode& mode, const State& x) {
    for (std::size_t i = 0; i <= 4 * network.diodes.size() + 4; ++i) {
      const Mode next = next_mode(mode, x);
      if (floating_pair || next == mode) {
        return !floating_pair;
      }
      mode = next;
    }
    return false;
  }

  /// Takes x from 0 to step_s; false when the diodes do not come to rest.
  bool step(Mode& mode, State& x, double step_s) {
    double left_s = step_s;
    while (left_s > 0.0) {
      const bool whole = left_s == step_s;
      State end = model(mode).after(x, left_s, whole);
      if (next_mode(mode, end) == mode) {
        x = std::move(end);
        return !floating_pair;
      }
      double low_s = 0.0, high_s = left_s;
      for (int i = 0; i < kHalvings; ++i) {
        const double middle_s = 0.5 * (low_s + high_s);
        State middle = model(mode).after(x, middle_s, false);
        if (next_mode(mode, middle) == mode) {
          low_s = middle_s;
        } else {
          high_s = middle_s;
          end = std::move(middle);
        }
      }
      x = std::move(end);
      left_s -= high_s;
      if (++events > kMostEvents || !settle(mode, x)) {
        return false;
      }
    }
    return true;
  }
};

DiodeDischarge::DiodeDischarge(LinearNetwork network) : impl_(std::make_unique<Impl>()) {
  impl_->network = std::move(network);
}
DiodeDischarge::~DiodeDischarge() = default;
DiodeDischarge::DiodeDischarge(DiodeDischarge&&) noexcept = default;

std::optional<DiodeWalk> DiodeDischarge::walk(const std::vector<double>& start) {
  FIRSTGLOW_REQUIRE(
      start.size() == impl_->network.capacitors.size() + impl_->network.inductors.size(),
      "a start has one value per state");
  impl_->floating_pair = false;
  impl_->events = 0;
  DiodeWalk walk;
  walk.time_s = impl_->times_s;
  Mode mode;
  State x = start;
  if (!impl_->settle(mode, x)) {
    return std::nullopt;
  }
  walk.states.push_back(x);
  for (std::size_t i = 1; i < walk.time_s.size(); ++i) {
    if (!impl_->step(mode, x, walk.time_s[i] - walk.time_s[i - 1])) {
      return std::nullopt;
    }
    walk.states.push_back(x);
  }
  return walk;
}

}  // namespace firstglow::sim
