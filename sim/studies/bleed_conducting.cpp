#include "sim/studies/bleed_conducting.hpp"

#include <algorithm>
#include <cmath>

#include "sim/studies/conducting_starts.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {
namespace {

/// Of one search for one limit of one capacitor.
constexpr int kMostRounds = 8;
/// More volts left by less than this part is no more.
constexpr double kRises = 1e-6;

bool longer(const std::optional<double>& a, const std::optional<double>& b) {
  return b && (!a || *a > *b);
}

/// What was found at one corner: the most each capacitor has from each point of time on, over all
/// starts.
using Envelope = std::vector<std::vector<double>>;  ///< [V], by capacitor, by point of time

class ConductingSearch {
 public:
  ConductingSearch(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                   BleedStart from)
      : circuit_(circuit), lifted_(lifted), from_(from) {}

  std::optional<std::map<int, ConductingTimes>> run() {
    set_grid();
    if (!look_at({})) {
      return std::nullopt;
    }
    if (from_ == BleedStart::box) {
      parts_ = toleranced_parts(circuit_.rig, netlists::Stage::tubes_out);
      for (const Corner& corner : single_corners(parts_)) {
        if (!look_at(corner)) {
          return std::nullopt;
        }
      }
      for (std::size_t k = 0; k < targets_.size(); ++k) {
        for (Target& target : targets_[k]) {
          if (!climb(k, target)) {
            return std::nullopt;
          }
        }
      }
    }
    return result();
  }

 private:
  /// One limit of one capacitor. A place on the points of time is point 7, or 7.5 half way to the
  /// next one; their number is never.
  struct Target {
    double limit_v = 0.0;  ///< with its guard
    double below = 0.0;    ///< place from which on it is below at every corner so far
    Corner corner;         ///< that set it
  };

  /// From the swings met on the way at nominal values.
  void set_grid() {
    const BleedModel model = bleed_model(circuit_, lifted_, {}, from_);
    DiodeDischarge discharge(model.network);
    for (const std::vector<double>& start : conducting_starts(model)) {
      static_cast<void>(discharge.walk(start, walk_));  // look_at() asks whether there is one
    }
    grid_ = discharge.grid_of_swings();
  }

  /// Walks every start at a corner, once; empty when the diodes gave no course.
  const Envelope* look_at(const Corner& corner) {
    const auto known = looked_.find(corner);
    if (known != looked_.end()) {
      return &known->second;
    }
    const BleedModel model = bleed_model(circuit_, lifted_, corner, from_);
    if (targets_.empty()) {
      set_targets(model);
    }
    DiodeDischarge discharge(model.network, grid_);
    Envelope envelope(model.network.capacitors.size());
    for (const std::vector<double>& start : conducting_starts(model)) {
      if (!discharge.walk(start, walk_)) {
        return nullptr;
      }
      kept_.reset();
      for (std::size_t k = 0; k < envelope.size(); ++k) {
        widen(envelope[k], walk_, k);
        keep_longest(model.network.capacitors[k].part, corner, start, k);
      }
      time_s_ = walk_.time_s;
    }
    for (std::size_t k = 0; k < envelope.size(); ++k) {
      for (Target& target : targets_[k]) {
        raise(target, envelope[k], corner);
      }
    }
    return &looked_.emplace(corner, std::move(envelope)).first->second;
  }

  void set_targets(const BleedModel& model) {
    const double guard = from_ == BleedStart::box ? kConductingGuardVolts : 1.0;
    std::map<int, std::set<std::string>> parts_of_island;
    for (const auto* list :
         {&model.network.resistors, &model.network.capacitors, &model.network.inductors}) {
      for (const LinearBranch& branch : *list) {
        if (branch.part >= 0) {
          parts_of_island[model.joined_of(branch)].insert(
              circuit_.rig.parts[static_cast<std::size_t>(branch.part)].designator);
        }
      }
    }
    for (const LinearBranch& capacitor : model.network.capacitors) {
      parts_of_state_.push_back(capacitor.part);
      around_.push_back(parts_of_island[model.joined_of(capacitor)]);
      std::vector<Target>& targets = targets_.emplace_back();
      for (const BleedLimit& limit : circuit_.limits) {
        targets.push_back({guard * limit_volts(circuit_, limit, capacitor, from_), 0, {}});
      }
    }
  }

  static void widen(std::vector<double>& most_v, const DiodeWalk& walk, std::size_t state) {
    most_v.resize(walk.time_s.size(), 0.0);
    double from_here_v = 0.0;
    for (std::size_t i = walk.time_s.size(); i-- > 0;) {
      from_here_v = std::max(from_here_v, std::abs(walk.at(i, state)));
      most_v[i] = std::max(most_v[i], from_here_v);
    }
  }

  /// The course that stays above the first limit longest is the one that is shown.
  void keep_longest(int part, const Corner& corner, const std::vector<double>& start,
                    std::size_t state) {
    const auto time_s = walk_.last_above(state, targets_[state].front().limit_v);
    const auto [place, fresh] = shown_.try_emplace(part);
    if (fresh || longer(time_s, place->second.first)) {
      if (!kept_) {
        kept_ = std::make_shared<const DiodeWalk>(walk_);
      }
      place->second = {time_s, ConductingCourse{corner, start, kept_, state}};
    }
  }

  static void raise(Target& target, const std::vector<double>& most_v, const Corner& corner) {
    const auto below = std::partition_point(most_v.begin(), most_v.end(),
                                            [&](double v) { return v > target.limit_v; });
    double place = static_cast<double>(below - most_v.begin());
    if (below != most_v.begin() && below != most_v.end()) {
      const double above_v = *std::prev(below);
      place -= (target.limit_v - *below) / (above_v - *below);
    }
    if (place > target.below) {
      target.below = place;
      target.corner = corner;
    }
  }

  /// Value at a place between two points.
  static double at_place(const std::vector<double>& values, double place) {
    const std::size_t point = std::min(static_cast<std::size_t>(place), values.size() - 1);
    const std::size_t next = std::min(point + 1, values.size() - 1);
    return std::lerp(values[point], values[next], place - static_cast<double>(point));
  }

  /// Volts left at the time that is known, over the limit: what a longer time announces itself by.
  static double left_over(const Envelope& envelope, std::size_t k, const Target& target) {
    return at_place(envelope[k], target.below) / target.limit_v;
  }

  /// The corners one tolerance of the capacitor's island away.
  [[nodiscard]] std::vector<Corner> beside(const Corner& here, std::size_t k) const {
    std::vector<Corner> corners;
    for (const std::string& part : parts_) {
      for (const double end : {-1.0, 1.0}) {
        if (around_[k].contains(part)) {
          corners.push_back(here);
          corners.back()[part] = end;
        }
      }
    }
    return corners;
  }

  /// The best of the corners beside this one and of all changes that help by themselves together;
  /// the corner itself when none leaves more; empty when the diodes gave no course.
  std::optional<Corner> step_up(const Corner& here, std::size_t k, const Target& target) {
    const Envelope* now = look_at(here);
    if (now == nullptr) {
      return std::nullopt;
    }
    const double before = left_over(*now, k, target) * (1.0 + kRises);
    double best = before;
    Corner next = here;
    Corner together = here;
    std::vector<Corner> tries = beside(here, k);
    for (std::size_t i = 0; i <= tries.size(); ++i) {
      const Corner& corner = i < tries.size() ? tries[i] : together;
      const Envelope* tried = look_at(corner);
      if (tried == nullptr) {
        return std::nullopt;
      }
      const double left = left_over(*tried, k, target);
      if (i < tries.size() && left > before) {
        for (const auto& [part, end] : corner) {
          if (!here.contains(part) || here.at(part) != end) {
            together[part] = end;
          }
        }
      }
      if (left > best) {
        best = left;
        next = corner;
      }
    }
    return next;
  }

  /// From the corner that set the time, upward. False when the diodes gave no course.
  bool climb(std::size_t k, Target& target) {
    Corner here = target.corner;
    for (int round = 0; round < kMostRounds && !is_never(target.below); ++round) {
      const std::optional<Corner> next = step_up(here, k, target);
      if (!next) {
        return false;
      }
      if (*next == here) {
        return true;
      }
      here = *next;
    }
    return true;
  }

  [[nodiscard]] std::map<int, ConductingTimes> result() const {
    std::map<int, ConductingTimes> found;
    for (std::size_t k = 0; k < targets_.size(); ++k) {
      ConductingTimes& times = found[parts_of_state_[k]];
      for (const Target& target : targets_[k]) {
        times.time_s.push_back(time_of(target.below));
      }
      times.course = shown_.at(parts_of_state_[k]).second;
    }
    return found;
  }

  [[nodiscard]] bool is_never(double place) const {
    return place >= static_cast<double>(time_s_.size());
  }

  /// With the guard. What falls more slowly all the while lies below the straight line between two
  /// points: the time is late, if anything.
  [[nodiscard]] std::optional<double> time_of(double below) const {
    if (is_never(below)) {
      return std::nullopt;
    }
    return at_place(time_s_, below) * (from_ == BleedStart::box ? kConductingGuardTime : 1.0);
  }

  const BleedCircuit& circuit_;
  const std::set<std::string>& lifted_;
  BleedStart from_;
  WalkGrid grid_;
  std::vector<std::string> parts_;
  std::vector<int> parts_of_state_;
  std::vector<std::set<std::string>> around_;  ///< parts of a capacitor's island, by state
  DiodeWalk walk_;                             ///< the last one
  std::shared_ptr<const DiodeWalk> kept_;      ///< a copy of it, where one is shown
  std::vector<double> time_s_;
  std::vector<std::vector<Target>> targets_;  ///< by capacitor, by limit
  std::map<Corner, Envelope> looked_;
  std::map<int, std::pair<std::optional<double>, ConductingCourse>> shown_;  ///< by part
};

}  // namespace

std::optional<std::map<int, ConductingTimes>> conducting_times(const BleedCircuit& circuit,
                                                               const std::set<std::string>& lifted,
                                                               BleedStart from) {
  return ConductingSearch(circuit, lifted, from).run();
}

}  // namespace firstglow::sim
