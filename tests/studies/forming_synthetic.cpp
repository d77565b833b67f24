#include "tests/studies/forming_synthetic.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "core/electrolytic.hpp"
#include "core/leakage_limits.hpp"
#include "sim/studies/forming_run.hpp"

namespace firstglow::test {
namespace {

constexpr double kDaySeconds = 86400.0;
constexpr double kAirKelvin = 295.0;
constexpr double kCoolKelvin = 10.0;  ///< rise of a can that is not hot

double draw(std::mt19937& random, double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(random);
}

double draw_log(std::mt19937& random, double low, double high) {
  return std::exp(draw(random, std::log(low), std::log(high)));
}

/// A can, its source and what is told of it.
struct Setup {
  double capacitance_f = 0.0, rated_v = 0.0, ohm = 0.0, eaten_a = 0.0, eaten_s = 1.0;
  core::OxideCan can;
  core::OxideState start;
  sim::FormingFacts facts;
};

double residual_share(Fate fate, std::mt19937& random) {
  switch (fate) {
    case Fate::forming:
      return draw_log(random, 0.02, 0.6);
    case Fate::stuck:
      return draw_log(random, 1.4, 6.0);
    case Fate::failing:
      break;
  }
  return draw_log(random, 0.3, 12.0);
}

Setup draw_setup(Fate fate, std::mt19937& random) {
  constexpr double kRated[] = {150.0, 250.0, 350.0, 450.0, 475.0};
  Setup setup;
  setup.capacitance_f = draw_log(random, 8e-6, 150e-6);
  setup.rated_v = kRated[std::uniform_int_distribution<int>(0, 4)(random)];
  const core::Farads farads(setup.capacitance_f);
  const core::Volts rated(setup.rated_v);
  const auto& rules = core::leakage_rules();
  const auto rule = std::uniform_int_distribution<std::size_t>(0, rules.size() - 1)(random);
  setup.facts.limit_a = rules[rule].limit(farads, rated).si();
  setup.facts.rated_v = setup.rated_v;
  // The resistor lets at least three times the limit through.
  const double most_ohm = setup.rated_v / (3.0 * setup.facts.limit_a);
  setup.ohm = std::min(draw_log(random, 1e3, 100e3), most_ohm);
  setup.facts.supply_v = setup.rated_v;
  if (draw(random, 0.0, 1.0) < 0.7) {
    setup.facts.series_ohm = setup.ohm;  // not everybody writes it down
  }
  const core::CanHeat told = core::can_heat(std::nullopt, farads, rated);
  core::CanHeat heat = told;
  heat.thermal_k_per_w *= draw(random, 0.7, 1.3);
  setup.facts.thermal_k_per_w = told.thermal_k_per_w;
  const core::FormingGuess guess{draw(random, 0.1, 0.95), draw_log(random, 0.0005, 0.01),
                                 residual_share(fate, random)};
  setup.can = core::oxide_can(farads, rated, core::Amps(setup.facts.limit_a), guess, heat);
  core::OxideCan told_can = setup.can;
  told_can.thermal_k_per_w = told.thermal_k_per_w;
  setup.facts.runaway_a = core::runaway_leakage(told_can, rated).si();
  setup.start = {guess.formed_share * rated, core::Kelvin(kAirKelvin)};
  if (fate == Fate::failing && draw(random, 0.0, 1.0) < 0.5) {
    setup.eaten_a = draw_log(random, 0.02, 0.5) * setup.facts.limit_a;
    setup.eaten_s = draw_log(random, 300.0, 7200.0);
  }
  return setup;
}

/// The noise-free course, and what grows over it.
class Course {
 public:
  explicit Course(const Setup& setup)
      : setup_(setup),
        run_(setup.can, core::Farads(setup.capacitance_f), setup.start, core::Kelvin(kAirKelvin)) {
    run_.run({setup.rated_v, setup.ohm}, kDaySeconds, [](const sim::FormingPoint& point) {
      return point.can_k > 420.0;  // it boils
    });
  }
  [[nodiscard]] double end_s() const { return run_.now().time_s; }
  [[nodiscard]] double hottest_rise_k() const {
    double hottest_k = 0.0;
    for (const sim::FormingPoint& point : run_.points()) {
      hottest_k = std::max(hottest_k, point.can_k - kAirKelvin);
    }
    return hottest_k;
  }
  [[nodiscard]] double at(double time_s) const {
    const double eaten_a = setup_.eaten_a * std::exp(std::min(time_s / setup_.eaten_s, 50.0));
    // the resistor lets no more through than its short-circuit current
    return std::min(run_.current_at(time_s) + eaten_a, setup_.rated_v / setup_.ohm);
  }

 private:
  const Setup& setup_;
  sim::FormingRun run_;
};

constexpr double kFirstSeconds = 60.0;  ///< the can is charged

/// A fine grid from a time to the end of a course.
std::vector<double> grid_of(const Course& course, double from_s) {
  std::vector<double> times_s;
  double time_s = from_s;
  while (time_s <= course.end_s()) {
    times_s.push_back(time_s);
    time_s *= 1.02;
  }
  return times_s;
}

/// First time on the grid at which `holds`.
std::optional<double> first_time(const Course& course, double from_s,
                                 const std::function<bool(double)>& holds) {
  for (const double time_s : grid_of(course, from_s)) {
    if (holds(course.at(time_s))) {
      return time_s;
    }
  }
  return std::nullopt;
}

struct Lowest {
  double time_s = 0.0, amps = 0.0;
};

Lowest lowest_of(const Course& course) {
  Lowest lowest{kFirstSeconds, course.at(kFirstSeconds)};
  for (const double time_s : grid_of(course, kFirstSeconds)) {
    if (course.at(time_s) < lowest.amps) {
      lowest = {time_s, course.at(time_s)};
    }
  }
  return lowest;
}

/// When a log of this fate ends; empty when the course has another fate.
std::optional<double> log_end(const Course& course, const Setup& setup, Fate fate,
                              std::mt19937& random) {
  const Lowest lowest = lowest_of(course);
  const bool rises = course.at(course.end_s()) > 1.1 * lowest.amps;
  if (fate == Fate::failing) {
    const double above = 1.0 + draw_log(random, 0.15, 3.0);
    const auto end_s = first_time(course, std::max(lowest.time_s, 600.0),
                                  [&](double amps) { return amps > above * lowest.amps; });
    return lowest.amps > 0.3 * setup.facts.limit_a ? end_s : std::nullopt;
  }
  if (rises || course.hottest_rise_k() > kCoolKelvin) {
    return std::nullopt;
  }
  const auto reached_s =
      first_time(course, kFirstSeconds, [&](double amps) { return amps <= setup.facts.limit_a; });
  if (fate == Fate::forming) {
    return reached_s && *reached_s > 600.0 ? std::optional(*reached_s * draw(random, 0.25, 1.1))
                                           : std::nullopt;
  }
  const double final_a = course.at(course.end_s());
  if (reached_s || final_a < 1.2 * setup.facts.limit_a) {
    return std::nullopt;
  }
  const auto flat_s = first_time(course, 300.0, [&](double amps) { return amps < 1.05 * final_a; });
  return flat_s ? std::optional(std::min(*flat_s * draw(random, 1.2, 4.0), course.end_s()))
                : std::nullopt;
}

std::vector<double> reading_times(double end_s, std::mt19937& random) {
  const int count = std::uniform_int_distribution<int>(4, 30)(random);
  const bool even = draw(random, 0.0, 1.0) < 0.5;
  std::vector<double> times;
  for (int k = 0; k < count; ++k) {
    const double share = static_cast<double>(k) / (count - 1);
    times.push_back(even ? kFirstSeconds + share * (end_s - kFirstSeconds)
                         : kFirstSeconds * std::pow(end_s / kFirstSeconds, share));
  }
  return times;
}

std::vector<core::FormingReading> readings_of(const Course& course, double end_s,
                                              std::mt19937& random) {
  const double noise = draw(random, 0.01, 0.03);
  std::normal_distribution<double> normal(0.0, noise);
  std::vector<core::FormingReading> readings;
  for (const double time_s : reading_times(end_s, random)) {
    const double amps = course.at(time_s) * (1.0 + normal(random));
    const double digit = std::pow(10.0, std::floor(std::log10(amps)) - 2.0);
    core::FormingReading reading;
    reading.time = core::Seconds(time_s);
    reading.current = core::Amps(std::round(amps / digit) * digit);
    readings.push_back(reading);
  }
  return readings;
}

}  // namespace

SyntheticLog synthetic_log(Fate fate, std::mt19937& random) {
  for (;;) {
    const Setup setup = draw_setup(fate, random);
    const Course course(setup);
    if (const auto end_s = log_end(course, setup, fate, random); end_s && *end_s > 240.0) {
      return {fate, readings_of(course, *end_s, random), setup.facts};
    }
  }
}

SyntheticLog early_failing_log(std::mt19937& random) {
  for (;;) {
    const Setup setup = draw_setup(Fate::failing, random);
    if (setup.eaten_a > 0.0) {
      continue;  // cannot be seen before it shows
    }
    const Course course(setup);
    const Lowest lowest = lowest_of(course);
    const bool rises = course.at(course.end_s()) > 1.5 * lowest.amps;
    if (rises && lowest.time_s > 600.0 && lowest.amps > setup.facts.limit_a) {
      return {Fate::failing, readings_of(course, lowest.time_s, random), setup.facts};
    }
  }
}

}  // namespace firstglow::test
