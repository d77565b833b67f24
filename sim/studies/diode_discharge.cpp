#include "sim/studies/diode_discharge.hpp"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>

#include "core/error.hpp"
#include "sim/studies/walk_steps.hpp"

namespace firstglow::sim {
namespace {

using Mode = std::vector<bool>;  ///< which of the diodes conduct
using State = std::vector<double>;

constexpr double kFallUntil = 7.0;        ///< times the fall: exp(-7) is left
constexpr double kLongerSwings = 1.25;    ///< of other tolerances
constexpr double kMostSwingSteps = 4000;  ///< of one walk
constexpr double kTurnOffVolts = -1e-9;   ///< across kOnOhm
constexpr int kHalvings = 30;
/// Of the energy at the start. A network that makes none never has more again: it is empty.
constexpr double kEmptyShare = 1e-20;
constexpr std::size_t kEmptyEvery = 8;  ///< steps
constexpr int kMostEvents = 20000;

std::size_t at(int node) { return static_cast<std::size_t>(node); }

using RowsFirst = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// In place, for matrices of ten rows or so: a call of the blocked product would cost more.
void multiply(const Eigen::MatrixXd& matrix, const State& x, std::vector<double>& result) {
  result.resize(static_cast<std::size_t>(matrix.rows()));
  Eigen::Map<Eigen::VectorXd>(result.data(), matrix.rows()).noalias() =
      matrix.lazyProduct(Eigen::Map<const Eigen::VectorXd>(x.data(), matrix.cols()));
}

/// Where a diode that does not conduct stands between the islands of a mode.
struct DiodePlace {
  enum class Kind { same_island, anode_on_chassis, cathode_on_chassis, between_floating };
  Kind kind = Kind::same_island;
  std::size_t room = 0;  ///< the floating island at its other end
};

/// The network with some of its diodes conducting.
class ModeModel {
 public:
  ModeModel(const LinearNetwork& network, const Mode& mode)
      : network_(with_diodes(network, mode)), discharge_(network_) {
    place_diodes();
    find_forward_volts();
  }

  /// State one of the walk's own steps later. Steps of one length number take the same time in
  /// every walk.
  void after_step(std::size_t length, double step_s, const State& x, State& result) {
    if (propagators_.size() <= length) {
      propagators_.resize(length + 1);
    }
    Eigen::MatrixXd& matrix = propagators_[length];
    if (matrix.size() == 0) {
      const auto n = static_cast<Eigen::Index>(x.size());
      matrix = Eigen::Map<const RowsFirst>(discharge_.propagator(step_s).data(), n, n);
    }
    multiply(matrix, x, result);
  }
  [[nodiscard]] State after(const State& x, double step_s) const {
    return discharge_.moved(x, step_s);
  }

  /// Forward volts of every diode.
  void forward_v(const State& x, std::vector<double>& volts) const { multiply(forward_, x, volts); }
  [[nodiscard]] std::vector<std::complex<double>> rates() const { return discharge_.rates(); }
  [[nodiscard]] const DiodePlace& place(std::size_t diode) const { return places_[diode]; }
  [[nodiscard]] std::size_t room_count() const { return room_count_; }

 private:
  static LinearNetwork with_diodes(LinearNetwork network, const Mode& mode) {
    for (std::size_t i = 0; i < mode.size(); ++i) {
      if (mode[i]) {
        const LinearDiode& diode = network.diodes[i];
        network.resistors.push_back(
            LinearBranch{diode.anode, diode.cathode, DiodeDischarge::kOnOhm, -1});
      }
    }
    return network;
  }

  void place_diodes() {
    const std::vector<int> island = islands_of(network_, true, true);
    std::map<int, std::size_t> rooms;
    const auto room_of = [&](int root) {
      return rooms.try_emplace(root, rooms.size()).first->second;
    };
    for (const LinearDiode& diode : network_.diodes) {
      const int anode = island[at(diode.anode)];
      const int cathode = island[at(diode.cathode)];
      if (anode == cathode) {
        places_.push_back({DiodePlace::Kind::same_island, 0});
      } else if (anode == island[0]) {
        places_.push_back({DiodePlace::Kind::anode_on_chassis, room_of(cathode)});
      } else if (cathode == island[0]) {
        places_.push_back({DiodePlace::Kind::cathode_on_chassis, room_of(anode)});
      } else {
        places_.push_back({DiodePlace::Kind::between_floating, 0});
      }
    }
    room_count_ = rooms.size();
  }

  /// Forward volts of each diode for each state at 1.
  void find_forward_volts() {
    State unit(discharge_.state_count(), 0.0);
    forward_.resize(static_cast<Eigen::Index>(network_.diodes.size()),
                    static_cast<Eigen::Index>(unit.size()));
    for (std::size_t j = 0; j < unit.size(); ++j) {
      unit[j] = 1.0;
      const State node_v = discharge_.node_volts(unit);
      unit[j] = 0.0;
      for (std::size_t i = 0; i < network_.diodes.size(); ++i) {
        const LinearDiode& diode = network_.diodes[i];
        forward_(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) =
            node_v[at(diode.anode)] - node_v[at(diode.cathode)];
      }
    }
  }

  LinearNetwork network_;
  LinearDischarge discharge_;
  std::vector<DiodePlace> places_;
  std::size_t room_count_ = 0;
  Eigen::MatrixXd forward_;                   ///< a row for each diode
  std::vector<Eigen::MatrixXd> propagators_;  ///< by length of step; empty: not made yet
};

/// Where an island without reference may lie, as its diodes have it.
struct Room {
  double low_v = -std::numeric_limits<double>::infinity();
  double high_v = std::numeric_limits<double>::infinity();
  std::size_t from = 0, to = 0;  ///< diodes that set the two ends
};

}  // namespace

std::optional<double> DiodeWalk::last_above(std::size_t state, double limit) const {
  for (std::size_t i = time_s.size(); i-- > 0;) {
    if (std::abs(at(i, state)) > limit) {
      return i + 1 == time_s.size() ? std::nullopt : std::optional(time_s[i + 1]);
    }
  }
  return 0.0;
}

double DiodeWalk::state_at(std::size_t state, double time) const {
  const auto after = std::upper_bound(time_s.begin(), time_s.end(), time);
  if (after == time_s.end()) {
    return at(time_s.size() - 1, state);
  }
  const auto i = static_cast<std::size_t>(after - time_s.begin());
  const double share = (time - time_s[i - 1]) / (time_s[i] - time_s[i - 1]);
  return at(i - 1, state) + share * (at(i, state) - at(i - 1, state));
}

struct DiodeDischarge::Impl {
  LinearNetwork network;
  WalkSteps steps;
  std::map<Mode, ModeModel> models;
  bool floating_pair = false;  ///< two islands without reference met in a diode
  int events = 0;
  Mode mode;
  ModeModel* model = nullptr;  ///< of `mode`
  // kept for their memory
  std::vector<Room> rooms;
  std::vector<std::size_t> turned;
  std::vector<double> forward_v;
  State end;

  [[nodiscard]] double energy_j(const State& x) const {
    double joules = 0.0;
    std::size_t k = 0;
    for (const auto* list : {&network.capacitors, &network.inductors}) {
      for (const LinearBranch& branch : *list) {
        joules += 0.5 * branch.value * x[k] * x[k];
        ++k;
      }
    }
    return joules;
  }

  void enter(const Mode& wanted) {
    mode = wanted;
    auto place = models.find(mode);
    if (place == models.end()) {
      place = models.emplace(mode, ModeModel(network, mode)).first;
    }
    model = &place->second;
  }

  /// Puts into `turned` the diodes that switch in that state; false when none does.
  bool would_switch(const State& x) {
    turned.clear();
    rooms.assign(model->room_count(), Room{});
    model->forward_v(x, forward_v);
    for (std::size_t i = 0; i < mode.size(); ++i) {
      if (!mode[i]) {
        look_at_blocked(i, forward_v[i]);
      } else if (!(forward_v[i] >= kTurnOffVolts)) {
        turned.push_back(i);
      }
    }
    for (const Room& room : rooms) {
      if (room.low_v - room.high_v > 2.0 * kTurnOnVolts) {
        turned.push_back(room.from);
        turned.push_back(room.to);
      }
    }
    return !turned.empty();
  }

  void look_at_blocked(std::size_t i, double volts) {
    const DiodePlace& place = model->place(i);
    switch (place.kind) {
      case DiodePlace::Kind::same_island:
        if (volts > kTurnOnVolts) {
          turned.push_back(i);
        }
        break;
      case DiodePlace::Kind::anode_on_chassis:
        if (volts > rooms[place.room].low_v) {
          rooms[place.room].low_v = volts;
          rooms[place.room].from = i;
        }
        break;
      case DiodePlace::Kind::cathode_on_chassis:
        if (-volts < rooms[place.room].high_v) {
          rooms[place.room].high_v = -volts;
          rooms[place.room].to = i;
        }
        break;
      case DiodePlace::Kind::between_floating:
        floating_pair = true;
        break;
    }
  }

  /// Lets the diodes switch until they rest; false when they never do.
  bool settle(const State& x) {
    for (std::size_t i = 0; i <= 4 * network.diodes.size() + 4; ++i) {
      if (!would_switch(x) || floating_pair) {
        return !floating_pair;
      }
      Mode next = mode;
      for (const std::size_t diode : turned) {
        next[diode] = !mode[diode];
      }
      enter(next);
    }
    return false;
  }

  /// Takes x over one step of the walk; false when the diodes do not come to rest.
  bool step(std::size_t index, State& x) {
    const double step_s = steps.step_s[index];
    double left_s = step_s;
    while (left_s > 0.0) {
      if (left_s == step_s) {
        model->after_step(steps.length[index], step_s, x, end);
      } else {
        end = model->after(x, left_s);
      }
      if (!would_switch(end)) {
        x.swap(end);
        return !floating_pair;
      }
      left_s -= to_next_event(x, left_s);
      if (++events > kMostEvents || !settle(x)) {
        return false;
      }
    }
    return true;
  }

  /// Takes x past the first switching of a diode within `left_s`; returns the time that took. `end`
  /// holds the state after `left_s`.
  double to_next_event(State& x, double left_s) {
    double low_s = 0.0, high_s = left_s;
    for (int i = 0; i < kHalvings; ++i) {
      const double middle_s = 0.5 * (low_s + high_s);
      State middle = model->after(x, middle_s);
      if (would_switch(middle)) {
        high_s = middle_s;
        end = std::move(middle);
      } else {
        low_s = middle_s;
      }
    }
    x = end;
    return high_s;
  }
};

DiodeDischarge::DiodeDischarge(LinearNetwork network, const WalkGrid& grid)
    : impl_(std::make_unique<Impl>()) {
  impl_->network = std::move(network);
  impl_->steps = steps_of_walk(grid);
}
DiodeDischarge::~DiodeDischarge() = default;
DiodeDischarge::DiodeDischarge(DiodeDischarge&&) noexcept = default;

std::optional<DiodeWalk> DiodeDischarge::walk(const std::vector<double>& start) {
  DiodeWalk found;
  return walk(start, found) ? std::optional(std::move(found)) : std::nullopt;
}

bool DiodeDischarge::walk(const std::vector<double>& start, DiodeWalk& into) {
  FIRSTGLOW_REQUIRE(
      start.size() == impl_->network.capacitors.size() + impl_->network.inductors.size(),
      "a start has one value per state");
  impl_->floating_pair = false;
  impl_->events = 0;
  into.time_s = impl_->steps.time_s;
  into.state_count = start.size();
  into.states.clear();
  into.states.reserve(into.time_s.size() * start.size());
  State x = start;
  impl_->enter(Mode(impl_->network.diodes.size(), false));
  if (!impl_->settle(x)) {
    return false;
  }
  into.states.insert(into.states.end(), x.begin(), x.end());
  const double empty_j = kEmptyShare * impl_->energy_j(x);
  bool empty = false;
  for (std::size_t i = 1; i < into.time_s.size(); ++i) {
    if (!empty && !impl_->step(i, x)) {
      return false;
    }
    empty = empty || (i % kEmptyEvery == 0 && impl_->energy_j(x) <= empty_j);
    into.states.insert(into.states.end(), x.begin(), x.end());
  }
  return true;
}

WalkGrid DiodeDischarge::grid_of_swings() const {
  WalkGrid grid{std::numeric_limits<double>::infinity(), 0.0};
  for (const auto& [mode, model] : impl_->models) {
    for (const std::complex<double>& rate : model.rates()) {
      const double step_s = 2.0 * std::numbers::pi / std::abs(rate.imag()) / kStepsPerSwing;
      const double gone_s = kFallUntil / std::max(-rate.real(), 1.0 / kForeverSeconds);
      if (rate.imag() != 0.0 && kShortStepShare * gone_s > step_s) {
        grid.swing_step_s = std::min(grid.swing_step_s, step_s);
        grid.swing_until_s = std::max(grid.swing_until_s, kLongerSwings * gone_s);
      }
    }
  }
  grid.swing_step_s = std::max(grid.swing_step_s, grid.swing_until_s / kMostSwingSteps);
  return grid;
}

}  // namespace firstglow::sim
