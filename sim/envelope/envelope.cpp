#include "sim/envelope/envelope.hpp"

#include <Eigen/Core>
#include <cmath>
#include <map>
#include <optional>
#include <span>
#include <utility>

#include "core/error.hpp"
#include "sim/envelope/deck_discharge.hpp"
#include "sim/envelope/envelope_map.hpp"
#include "sim/envelope/implicit_step.hpp"

namespace firstglow::sim {
namespace {

using Eigen::Index;
using Eigen::VectorXd;

/// Shortest implicit step, in cycles; where it would have to be shorter the cycles are run.
constexpr double kLeastStep = 6.0;
constexpr double kFirstStep = 10.0;
constexpr double kMostGrowth = 6.0, kLeastGrowth = 0.25, kSafety = 0.85;
constexpr int kDirectBatch = 3;
/// After so many cycles since an event steps are tried, whatever the differences say.
constexpr int kMostDirect = 150;
/// The noise of one run, of a coordinate's size: third differences below it tell nothing.
constexpr double kRunNoise = 1e-5;
/// A rectifier that carries less than this over a whole cycle has stopped [A].
constexpr double kStoppedA = 1e-6;
/// Shortest piece of a course without mains, in cycles.
constexpr double kShortestPiece = 0.02;

bool without_mains(const EnvelopeStretch& stretch) {
  if (stretch.from_share == 0.0 && stretch.to_share == 0.0) {
    return true;
  }
  return std::none_of(stretch.deck.elements.begin(), stretch.deck.elements.end(),
                      [](const netlists::Element& element) {
                        return std::holds_alternative<netlists::SineSourceElement>(element.data);
                      });
}

/// The smallest capacitance that counts against the largest, to weigh currents with.
constexpr double kSmallCapacitor = 1.0 / 30.0;

/// What one volt of error is worth in each coordinate. A current error is as bad as the volts it
/// makes when its energy goes into a filter capacitor: sqrt(C / L) amps per volt.
VectorXd per_volt(const EnvelopeStretch& stretch, const EnvelopeMap& map) {
  double largest_f = 1e-9;
  for (const netlists::Element& element : stretch.deck.elements) {
    if (const auto* capacitor = std::get_if<netlists::CapacitorElement>(&element.data)) {
      largest_f = std::max(largest_f, capacitor->farad);
    }
  }
  double weight_f = largest_f;
  for (const netlists::Element& element : stretch.deck.elements) {
    const auto* capacitor = std::get_if<netlists::CapacitorElement>(&element.data);
    if (capacitor != nullptr && capacitor->farad >= kSmallCapacitor * largest_f) {
      weight_f = std::min(weight_f, capacitor->farad);
    }
  }
  VectorXd worth = VectorXd::Ones(map.size());
  Index next = 0;
  for (const netlists::ElementIndex index : netlists::state_elements(stretch.deck)) {
    const auto& data = stretch.deck.elements[static_cast<std::size_t>(index)].data;
    if (const auto* inductor = std::get_if<netlists::InductorElement>(&data)) {
      worth[next] = std::sqrt(weight_f / inductor->henry);
    } else if (const auto* coil = std::get_if<netlists::SaturatingCoilElement>(&data)) {
      worth[next] = std::sqrt(weight_f * coil->unsaturated_h);
    } else if (const auto* swing = std::get_if<netlists::SinhCoilElement>(&data)) {
      worth[next] = std::sqrt(weight_f * swing->scale_vs / swing->scale_a);
    }
    ++next;
  }
  return worth;
}

/// One stretch on its way.
class StretchRun {
 public:
  StretchRun(Engine& engine, const EnvelopeStretch& stretch, const EnvelopeOptions& options,
             double& largest_v, EnvelopeCourse& course)
      : stretch_(stretch),
        options_(options),
        largest_v_(largest_v),
        course_(course),
        map_(engine, stretch, options.period_s, options.steps_per_cycle),
        stepper_([this](const VectorXd& point, double time_s) { return map_.drift(point, time_s); },
                 options.period_s, map_.circuit_size()),
        per_volt_(per_volt(stretch, map_)),
        cycles_(static_cast<long>(std::ceil(stretch.length_s / options.period_s - 1e-6))) {
    FIRSTGLOW_REQUIRE(stretch.length_s > 0.0, "a stretch of a programme takes time");
  }

  [[nodiscard]] const EnvelopeMap& map() const { return map_; }
  [[nodiscard]] const ImplicitStepper& stepper() const { return stepper_; }

  /// @param bound  of the error in each coordinate at the start
  StretchCourse run(VectorXd start, VectorXd& bound, double start_s,
                    const ImplicitStepper* former) {
    done_.start_s = start_s;
    for (const SlowState& state : map_.slow_states()) {
      done_.slow_names.push_back(state.name);
    }
    value_ = std::move(start);
    bound_ = bound;
    rescale();
    if (former != nullptr) {
      stepper_.inherit(*former);
    }
    begin();
    while (time_s_ < length_s() - 0.5 * period_s()) {
      advance();
    }
    bound = bound_;
    course_.cycle_runs += map_.runs();
    return std::move(done_);
  }

  [[nodiscard]] const VectorXd& value() const { return value_; }

 private:
  [[nodiscard]] double period_s() const { return options_.period_s; }
  [[nodiscard]] double length_s() const { return static_cast<double>(cycles_) * period_s(); }

  void rescale() {
    for (Index i = 0; i < map_.circuit_size(); ++i) {
      if (map_.units()[static_cast<std::size_t>(i)] == PointUnit::volts) {
        largest_v_ = std::max(largest_v_, std::abs(value_[i]));
      }
    }
    VectorXd tolerance = options_.error_v * per_volt_;
    VectorXd size = largest_v_ * per_volt_;
    for (Index i = map_.circuit_size(); i < value_.size(); ++i) {
      const SlowState& state =
          map_.slow_states()[static_cast<std::size_t>(i - map_.circuit_size())];
      size[i] = state.scale;
      tolerance[i] = state.error_share * state.scale;
    }
    stepper_.set_scales(tolerance, size);
  }

  /// The first point; its rate is that of the first cycle.
  void begin() {
    rate_ = map_.drift(value_, 0.0);
    direct_ = 0;
    note(EnvelopeWay::cycles, true);
    history_ = {value_};
    for (int i = 0; i < options_.direct_cycles && i < cycles_; ++i) {
      cycle(i == 0);
    }
    if (cycles_ > options_.direct_cycles + static_cast<long>(kLeastStep)) {
      stepper_.look_around({time_s_, value_, rate_});
      rescale();
    }
  }

  void advance() {
    const double left_s = length_s() - time_s_;
    if (without_mains(stretch_) && map_.forward_a() < kStoppedA) {
      if (!(stretch_.laws.empty() && run_down())) {
        run_free(left_s);
      }
      return;
    }
    if (left_s < (kLeastStep + 0.5) * period_s()) {
      cycle(false);
      return;
    }
    if (!settled()) {
      for (int i = 0; i < kDirectBatch; ++i) {
        cycle(false);
      }
      return;
    }
    try_step(left_s);
  }

  /// One cycle, run. The drift of the first has been run already by begin().
  void cycle(bool drift_known) {
    VectorXd held = value_;
    const Index slow = value_.size() - map_.circuit_size();
    // a slow state is held where it will be in the middle of the cycle
    held.tail(slow) += 0.5 * period_s() * rate_.tail(slow);
    const VectorXd drift = drift_known ? rate_ : map_.drift(held, time_s_);
    value_ += period_s() * drift;
    // drifts belong to the middle of their cycles
    const VectorXd ahead = direct_ == 0 ? drift : VectorXd(1.5 * drift - 0.5 * last_drift_);
    rate_ = drift;
    rate_.head(map_.circuit_size()) = ahead.head(map_.circuit_size());
    last_drift_ = drift;
    time_s_ += period_s();
    ++direct_;
    step_s_ = kFirstStep * period_s();
    history_.push_back(value_);
    if (history_.size() > kHistory) {
      history_.erase(history_.begin());
    }
    rescale();
    note(EnvelopeWay::cycles, false);
    stepper_.forget_rates();
  }

  /// Have the last cycles moved so evenly that a step of several is within the tolerance?
  [[nodiscard]] bool settled() const {
    if (direct_ == 0 || direct_ >= kMostDirect) {
      return true;  // steps are under way; or this ringing does not end
    }
    if (history_.size() < kHistory) {
      return false;
    }
    const VectorXd third = history_[6] - 3.0 * history_[4] + 3.0 * history_[2] - history_[0];
    double longest = 1e9;  // in spans of two cycles
    for (Index i = 0; i < third.size(); ++i) {
      if (stepper_.follows(i)) {
        continue;
      }
      const double curve = std::abs(third[i]) - 8.0 * kRunNoise * stepper_.size()[i];
      if (curve > 0.0) {
        longest = std::min(longest, std::cbrt(6.0 * stepper_.tolerance()[i] / curve));
      }
    }
    return 2.0 * longest >= kLeastStep;
  }

  void try_step(double left_s) {
    // whole cycles, so that cycles run afterwards end where the stretch does
    double step_s = std::min(std::floor(step_s_ / period_s()) * period_s(), left_s);
    if (left_s - step_s < (kLeastStep + 1.0) * period_s()) {
      step_s = left_s;  // no crumbs at the end
    }
    const DriftPoint from{time_s_, value_, rate_};
    const auto result = stepper_.step(from, step_s);
    const double wanted = result ? std::max(result->size, 1e-6) : 8.0;
    const double growth =
        std::clamp(kSafety * std::pow(wanted, -1.0 / 3.0), kLeastGrowth, kMostGrowth);
    if (!result || result->size > 1.0) {
      ++course_.steps_refused;
      step_s_ = step_s * std::min(growth, 0.5);
      if (step_s_ < kLeastStep * period_s()) {
        for (int i = 0; i < 2 * kDirectBatch && time_s_ < length_s() - 0.5 * period_s(); ++i) {
          cycle(false);
        }
        direct_ = kMostDirect;  // try a step again after these
      }
      return;
    }
    ++course_.steps_taken;
    bound_ = stepper_.transported(bound_, step_s) + result->error.cwiseAbs();
    stepper_.remember(from);
    value_ = result->end.value;
    rate_ = result->end.rate;
    time_s_ += step_s;
    step_s_ = step_s * growth;
    direct_ = 0;
    rescale();
    note(EnvelopeWay::steps, false);
  }

  /// Without mains nothing happens once a cycle: one run of the engine over a longer time, and two
  /// over its halves, in which the slow states stand where they will be in the middle. The
  /// difference is the error, three quarters of which the halves do not have.
  void run_free(double left_s) {
    if (free_s_ <= 0.0) {
      free_s_ = period_s();
    }
    const double length_s = left_s < 1.5 * free_s_ ? left_s : free_s_;
    const VectorXd whole = free_piece(value_, rate_, time_s_, length_s).first;
    const auto [middle, middle_rate] = free_piece(value_, rate_, time_s_, 0.5 * length_s);
    const VectorXd end =
        free_piece(middle, middle_rate, time_s_ + 0.5 * length_s, 0.5 * length_s).first;
    const VectorXd error = (whole - end) / 3.0;
    // a parabola through the three points; is the cubic between the ends right in the middle?
    const VectorXd turned = (3.0 * end - 4.0 * middle + value_) / length_s;
    const VectorXd between = 0.5 * (value_ + end) + 0.125 * length_s * (rate_ - turned);
    const double size = std::max({1e-6, judged(error), judged(between - middle)});
    const double growth = std::clamp(kSafety * std::pow(size, -1.0 / 3.0), kLeastGrowth, 3.0);
    if (size > 1.0 && length_s > 0.25 * period_s()) {
      ++course_.steps_refused;
      free_s_ = length_s * growth;
      return;
    }
    ++course_.steps_taken;
    bound_ += error.cwiseAbs();
    const VectorXd slope = (end - value_) / length_s;
    const double begin_s = time_s_;
    place(middle, slope, begin_s + 0.5 * length_s, EnvelopeWay::cycles);
    place(end, turned, begin_s + length_s, EnvelopeWay::cycles);
    free_s_ = length_s * growth;
  }

  void place(const VectorXd& value, const VectorXd& rate, double time_s, EnvelopeWay way) {
    value_ = value;
    rate_ = rate;
    time_s_ = time_s;
    rescale();
    note(way, false);
  }

  /// Largest entry over tolerance.
  [[nodiscard]] double judged(const VectorXd& error) const {
    return error.cwiseQuotient(stepper_.tolerance()).cwiseAbs().maxCoeff();
  }

  /// Point after a run, and the mean rates in it.
  std::pair<VectorXd, VectorXd> free_piece(const VectorXd& from, const VectorXd& rate,
                                           double time_s, double length_s) {
    VectorXd held = from;
    const Index slow = from.size() - map_.circuit_size();
    held.tail(slow) += 0.5 * length_s * rate.tail(slow);
    const VectorXd drift = map_.drift_over(held, time_s, length_s);
    return {from + length_s * drift, drift};
  }

  /// The rest of the stretch as a linear network; false when that is not proved.
  bool run_down() {
    const auto network = DeckDischarge::of(map_.deck(value_, time_s_), value_);
    if (!network || network->forward_v(value_) > 0.0) {
      return false;
    }
    const VectorXd start = value_;
    const VectorXd start_bound = bound_;
    const double from_s = time_s_;
    bool moved = false;
    double pace_s = period_s();
    while (time_s_ < length_s()) {
      const double done_s = time_s_ - from_s;
      const bool last = time_s_ + 1.5 * pace_s > length_s();
      const double after_s = last ? length_s() - from_s : done_s + pace_s;
      const VectorXd next = network->after(start, after_s);
      if (!next.allFinite() || network->forward_v(next) > 0.0) {
        break;  // a rectifier takes over again: cycles go on from the point before
      }
      const VectorXd rate = network->rate(next);
      const VectorXd middle = network->after(start, 0.5 * (done_s + after_s));
      const VectorXd between =
          0.5 * (value_ + next) + 0.125 * (after_s - done_s) * (network->rate(value_) - rate);
      const double size = judged(between - middle);
      if (size > 1.0 && after_s - done_s > kShortestPiece * period_s()) {
        pace_s = 0.5 * (after_s - done_s);
        continue;
      }
      bound_ = network->transported(start_bound, after_s);
      place(next, rate, from_s + after_s, EnvelopeWay::exponential);
      moved = true;
      pace_s = (after_s - done_s) * (size < 0.05 ? 2.0 : 1.2);
    }
    if (time_s_ >= length_s()) {
      return true;
    }
    if (moved) {
      direct_ = 1;
      history_ = {value_};
      stepper_.forget_rates();
      cycle(false);
    }
    return moved;
  }

  void note(EnvelopeWay way, bool first) {
    EnvelopePoint point;
    point.time_s = done_.start_s + time_s_;
    point.value.assign(value_.data(), value_.data() + value_.size());
    point.rate.assign(rate_.data(), rate_.data() + rate_.size());
    for (Index i = 0; i < value_.size(); ++i) {
      if (map_.units()[static_cast<std::size_t>(i)] == PointUnit::volts && !stepper_.follows(i)) {
        point.error_v = std::max(point.error_v, bound_[i]);
      }
    }
    course_.largest_error_v = std::max(course_.largest_error_v, point.error_v);
    done_.points.push_back(std::move(point));
    if (!first) {
      done_.ways.push_back(way);
    }
  }

  static constexpr std::size_t kHistory = 7;

  const EnvelopeStretch& stretch_;
  const EnvelopeOptions& options_;
  double& largest_v_;  ///< met so far in the programme: what relative errors are judged by
  EnvelopeCourse& course_;
  EnvelopeMap map_;
  ImplicitStepper stepper_;
  VectorXd per_volt_;
  long cycles_;
  StretchCourse done_;
  VectorXd value_, rate_, last_drift_, bound_;
  std::vector<VectorXd> history_;
  double time_s_ = 0.0;
  double step_s_ = 0.0;
  double free_s_ = 0.0;  ///< next piece without mains
  int direct_ = 0;       ///< cycles run one by one since the event or the last step
};

/// Slow states by name, others as the new laws start.
void carry_slow(const std::vector<std::string>& names, std::span<const double> values,
                const std::vector<SlowState>& to, double* out) {
  FIRSTGLOW_REQUIRE(names.size() == values.size(), "a name for each slow state");
  std::map<std::string, double> known;
  for (std::size_t i = 0; i < names.size(); ++i) {
    known[names[i]] = values[i];
  }
  for (std::size_t i = 0; i < to.size(); ++i) {
    const auto found = known.find(to[i].name);
    out[i] = found == known.end() ? to[i].start : found->second;
  }
}

VectorXd first_point(const EnvelopeMap& map, const EnvelopeStretch& stretch,
                     const std::vector<double>& start) {
  VectorXd value(map.size());
  if (!start.empty()) {
    FIRSTGLOW_REQUIRE(static_cast<Index>(start.size()) == map.size(), "a start value per state");
    std::copy(start.begin(), start.end(), value.data());
    return value;
  }
  const std::vector<double> circuit = netlists::start_state(stretch.deck);
  std::copy(circuit.begin(), circuit.end(), value.data());
  carry_slow({}, {}, map.slow_states(), value.data() + map.circuit_size());
  return value;
}

}  // namespace

EnvelopeCourse follow_envelope(Engine& engine, const std::vector<EnvelopeStretch>& programme,
                               const EnvelopeOptions& options, const std::vector<double>& start) {
  FIRSTGLOW_REQUIRE(options.period_s > 0.0 && options.error_v > 0.0,
                    "an envelope has a mains period and an error allowed");
  EnvelopeCourse course;
  double largest_v = 1.0;
  std::unique_ptr<StretchRun> former;
  const EnvelopeStretch* before = nullptr;
  VectorXd bound;
  for (const EnvelopeStretch& stretch : programme) {
    auto run = std::make_unique<StretchRun>(engine, stretch, options, largest_v, course);
    VectorXd value =
        first_point(run->map(), stretch, before == nullptr ? start : std::vector<double>{});
    VectorXd next_bound = VectorXd::Zero(value.size());
    if (before != nullptr) {
      const VectorXd& last = former->value();
      const Index circuit = former->map().circuit_size();
      const std::vector<double> carried =
          carried_state(before->deck, {last.data(), last.data() + circuit}, stretch.deck);
      std::copy(carried.begin(), carried.end(), value.data());
      const std::vector<std::string>& slow = course.stretches.back().slow_names;
      carry_slow(slow, {last.data() + circuit, slow.size()}, run->map().slow_states(),
                 value.data() + run->map().circuit_size());
      if (bound.size() == next_bound.size()) {
        next_bound = bound;
      } else {
        next_bound.setConstant(bound.size() > 0 ? bound.maxCoeff() : 0.0);
      }
    }
    const double start_s = course.stretches.empty() ? 0.0 : course.end_s();
    StretchCourse done =
        run->run(std::move(value), next_bound, start_s, former ? &former->stepper() : nullptr);
    course.stretches.push_back(std::move(done));
    bound = next_bound;
    former = std::move(run);
    before = &stretch;
  }
  return course;
}

}  // namespace firstglow::sim
