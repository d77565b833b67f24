#include "sim/studies/forming_judge.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/error.hpp"
#include "sim/studies/reform.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kFewestReadings = 4;
constexpr std::size_t kEnoughReadings = 6;
constexpr double kFewConfidence = 0.8;
constexpr double kMovedShare = 0.02;
constexpr double kLeastStayShare = 0.02;  ///< of the limit: less makes no difference
constexpr double kSure = 0.9;
constexpr double kFeltSeconds = 1800.0;
constexpr double kFarthest = 6.0;  ///< no curve is followed for more spans of the log than this

/// Shares of the weight below which a value of the curves lies.
Spread spread_of(std::vector<std::pair<double, double>> value_weight) {
  std::sort(value_weight.begin(), value_weight.end());
  double total = 0.0;
  for (const auto& [value, weight] : value_weight) {
    total += weight;
  }
  const auto below = [&](double share) {
    double sum = 0.0;
    for (const auto& [value, weight] : value_weight) {
      sum += weight;
      if (sum >= share * total) {
        return value;
      }
    }
    return value_weight.back().first;
  };
  return {below(0.1), below(0.5), below(0.9)};
}

class Judge {
 public:
  Judge(const std::vector<core::FormingReading>& readings, const FormingFacts& facts)
      : readings_(readings), facts_(facts) {}

  FormingVerdict answer() {
    result_.judged = last_step(readings_, result_.left_out);
    const std::vector<double>& amps = result_.judged.amps;
    if (amps.size() < kFewestReadings) {
      result_.why.push_back(
          fmt::format("{} readings in the step that is judged; four are needed "
                      "at least, better six or more over half an hour",
                      amps.size()));
      return result_;
    }
    result_.rise = find_rise(result_.judged, facts_.accuracy);
    result_.fit = fit_forming(result_.judged, kLeastStayShare * facts_.limit_a, series_amps(),
                              facts_.accuracy);
    weigh_curves();
    if (!found_stop()) {
      form_or_stuck();
      doubt_few();
    }
    if (amps.size() < kEnoughReadings) {
      result_.confidence = std::min(result_.confidence, kFewConfidence);
      result_.why.push_back(
          fmt::format("Only {} readings: take more before you trust this", amps.size()));
    }
    return result_;
  }

 private:
  [[nodiscard]] std::optional<double> series_amps() const {
    if (!facts_.series_ohm || !facts_.supply_v) {
      return std::nullopt;
    }
    return *facts_.supply_v / (core::kFieldExponent * *facts_.series_ohm);
  }

  void weigh_curves() {
    std::vector<std::pair<double, double>> stays, to_go;
    const double now_s = result_.judged.time_s.back();
    const double span_s = now_s - result_.judged.time_s.front();
    horizon_s_ = std::min(facts_.give_up_s, kFarthest * span_s);
    for (const FormingCurve& curve : result_.fit->curves) {
      stays.emplace_back(curve.stays_a, curve.weight);
      const std::optional<double> reached_s = curve.time_of(facts_.limit_a);
      if (reached_s && *reached_s - now_s <= horizon_s_) {
        reach_weight_ += curve.weight;
        to_go.emplace_back(std::max(*reached_s - now_s, 0.0), curve.weight);
      }
      hot_weight_ += rise_by_k(curve.stays_a) > kHottestRiseKelvin ? curve.weight : 0.0;
    }
    result_.stays_a = spread_of(stays);
    if (!to_go.empty()) {
      to_go_ = spread_of(to_go);
    }
  }

  void stop(double confidence, std::string why) {
    result_.answer = FormingAnswer::stop;
    result_.confidence = std::max(result_.confidence, confidence);
    result_.why.push_back(std::move(why));
  }

  bool found_stop() {
    const double last_a = result_.judged.amps.back();
    if (facts_.ceiling_a && last_a > *facts_.ceiling_a) {
      stop(0.99, fmt::format("The last reading is {:.3g} mA, over the ceiling of {:.3g} mA",
                             1e3 * last_a, 1e3 * *facts_.ceiling_a));
    }
    if (result_.rise) {
      stop(0.95,
           fmt::format("The current rises: {:.0f} % since {:.3g} min ({:.1f} standard errors)",
                       100.0 * result_.rise->share, result_.rise->from_s / 60.0,
                       result_.rise->certainty));
    }
    if (can_rise_k() > kHottestRiseKelvin) {
      stop(0.95, fmt::format("The can is {:.3g} K warmer than at its first reading", can_rise_k()));
    }
    if (!was_felt() && hot_weight_ > kSure) {
      stop(hot_weight_,
           fmt::format("About {:.3g} mA will stay, which warms a can of {:.3g} K per watt by "
                       "{:.0f} K: past {:.3g} mA it finds no balance and runs away",
                       1e3 * result_.stays_a->middle, facts_.thermal_k_per_w,
                       rise_by_k(result_.stays_a->middle), 1e3 * facts_.runaway_a));
    }
    if (!was_felt() && rise_by_k(last_a) > kHottestRiseKelvin) {
      stop(0.9,
           fmt::format("The last {:.3g} mA alone, if they stayed, would warm a can of {:.3g} K "
                       "per watt by {:.0f} K: lower the volts, let it cool, go on from there",
                       1e3 * last_a, facts_.thermal_k_per_w, rise_by_k(last_a)));
    }
    return result_.answer == FormingAnswer::stop;
  }

  [[nodiscard]] double can_rise_k() const {
    std::optional<double> first_k;
    double rise_k = 0.0;
    for (const core::FormingReading& reading : readings_) {
      if (reading.can) {
        first_k = first_k ? first_k : std::optional(reading.can->si());
        rise_k = std::max(rise_k, reading.can->si() - *first_k);
      }
    }
    return rise_k;
  }

  /// Was the can's temperature read over half an hour at least, up to the last readings? Then it
  /// counts, and not what an assumed size would make of the current.
  [[nodiscard]] bool was_felt() const {
    std::optional<double> first_s, last_s;
    for (const core::FormingReading& reading : readings_) {
      if (reading.can) {
        first_s = first_s ? first_s : std::optional(reading.time.si());
        last_s = reading.time.si();
      }
    }
    return first_s && *last_s - *first_s >= kFeltSeconds &&
           readings_.back().time.si() - *last_s < kFeltSeconds;
  }

  /// How much warmer the can becomes by a current that stays, at the volts it has then.
  [[nodiscard]] double rise_by_k(double amps) const {
    const double supply_v = facts_.supply_v.value_or(facts_.rated_v);
    const double lost_v = facts_.series_ohm.value_or(0.0) * amps;
    return std::max(supply_v - lost_v, 0.0) * amps * facts_.thermal_k_per_w;
  }

  /// Few readings of which the last is higher: a good answer is taken back.
  void doubt_few() {
    const std::vector<double>& amps = result_.judged.amps;
    const double lowest_a = *std::min_element(amps.begin(), amps.end());
    if (result_.answer == FormingAnswer::stuck || amps.size() >= kEnoughReadings ||
        amps.back() <= (1.0 + facts_.accuracy) * lowest_a) {
      return;
    }
    result_.answer = FormingAnswer::too_few;
    result_.confidence = 0.0;
    result_.to_go_s.reset();
    result_.why = {
        fmt::format("The last reading, {:.3g} mA, is above the lowest one, {:.3g} mA: so "
                    "few readings do not rule out a rise",
                    1e3 * amps.back(), 1e3 * lowest_a)};
  }

  void form_or_stuck() {
    const double last_a = result_.judged.amps.back();
    if (last_a <= facts_.limit_a) {
      result_.answer = FormingAnswer::formed;
      // share of a normal spread of the reading that lies below the limit
      result_.confidence =
          0.5 * std::erfc(std::log(last_a / facts_.limit_a) / (facts_.accuracy * std::sqrt(2.0)));
      result_.why.push_back(
          fmt::format("The last reading, {:.3g} mA, is within the limit of "
                      "{:.3g} mA",
                      1e3 * last_a, 1e3 * facts_.limit_a));
      return;
    }
    const bool falls = result_.fit->best.at(result_.judged.time_s.back()) <
                       (1.0 - facts_.accuracy) * result_.fit->best.at(result_.judged.time_s[0]);
    if (reach_weight_ >= 0.5 && falls && to_go_) {
      result_.answer = FormingAnswer::forming;
      result_.confidence = reach_weight_;
      result_.to_go_s = to_go_;
      result_.why.push_back(
          fmt::format("The current falls as a mending film's does; {:.0f} % of the curves that fit "
                      "reach {:.3g} mA within {:.3g} h",
                      100.0 * reach_weight_, 1e3 * facts_.limit_a, horizon_s_ / 3600.0));
      return;
    }
    result_.answer = FormingAnswer::stuck;
    result_.confidence = falls ? 1.0 - reach_weight_ : std::max(1.0 - reach_weight_, 0.7);
    result_.why.push_back(
        fmt::format("{}; {:.0f} % of the curves that fit never reach {:.3g} mA, or not within "
                    "{:.3g} h; about {:.3g} mA will stay",
                    falls ? "The current falls, but not far enough" : "The current stands still",
                    100.0 * (1.0 - reach_weight_), 1e3 * facts_.limit_a, horizon_s_ / 3600.0,
                    1e3 * result_.stays_a->middle));
  }

  const std::vector<core::FormingReading>& readings_;
  const FormingFacts& facts_;
  FormingVerdict result_;
  double reach_weight_ = 0.0, hot_weight_ = 0.0, horizon_s_ = 0.0;
  std::optional<Spread> to_go_;
};

}  // namespace

const char* to_words(FormingAnswer answer) {
  switch (answer) {
    case FormingAnswer::formed:
      return "formed";
    case FormingAnswer::forming:
      return "forming";
    case FormingAnswer::stuck:
      return "stuck";
    case FormingAnswer::stop:
      return "stop now";
    case FormingAnswer::too_few:
      break;
  }
  return "too few readings";
}

FormingSeries last_step(const std::vector<core::FormingReading>& readings, std::size_t& left_out) {
  left_out = 0;
  std::optional<double> supply_v;
  for (std::size_t k = 0; k < readings.size(); ++k) {
    if (!readings[k].supply) {
      continue;
    }
    const double now_v = readings[k].supply->si();
    if (supply_v && std::abs(now_v - *supply_v) > kMovedShare * *supply_v) {
      left_out = k;
    }
    if (!supply_v || left_out == k) {
      supply_v = now_v;
    }
  }
  FormingSeries series;
  for (std::size_t k = left_out; k < readings.size(); ++k) {
    series.time_s.push_back(readings[k].time.si());
    series.amps.push_back(readings[k].current.si());
  }
  return series;
}

FormingVerdict judge_forming(const std::vector<core::FormingReading>& readings,
                             const FormingFacts& facts) {
  FIRSTGLOW_REQUIRE(facts.limit_a > 0.0 && facts.rated_v > 0.0 && facts.accuracy > 0.0,
                    "a forming can has a limit, rated volts and a reading accuracy");
  return Judge(readings, facts).answer();
}

}  // namespace firstglow::sim
