#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/inrush_report.hpp"
#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

/// The answered point with the largest value of a reading; nullptr when every run failed.
const InrushPoint* highest(const InrushResult& result, double InrushPoint::*reading) {
  const InrushPoint* worst = nullptr;
  for (const InrushPoint& point : result.points) {
    if (point.failure.empty() && (worst == nullptr || point.*reading > worst->*reading)) {
      worst = &point;
    }
  }
  return worst;
}

void add_worst(Page& page, const InrushResult& result) {
  struct Reading {
    double InrushPoint::*value;
    const char* words;
    const char* unit;
  };
  static constexpr std::array<Reading, 5> kReadings{
      {{&InrushPoint::first_cycle_peak_a, "Peak of the first cycle", "A"},
       {&InrushPoint::first_second_peak_a, "Peak of the first second", "A"},
       {&InrushPoint::first_cycle_i2t, "I2t of the first cycle", "A^2 s"},
       {&InrushPoint::first_second_i2t, "I2t of the first second", "A^2 s"},
       {&InrushPoint::worst_rectifier_peak_a, "Peak of a rectifier", "A"}}};
  if (highest(result, &InrushPoint::first_cycle_peak_a) == nullptr) {
    page.blank().text("No run gave an answer: there is no prediction of the inrush.");
    return;
  }
  page.heading("WORST OF ALL CLOSING ANGLES");
  for (const Reading& reading : kReadings) {
    const InrushPoint* worst = highest(result, reading.value);
    page.item("-",
              fmt::format("{}: {}, closed at {} deg", reading.words,
                          with_unit(worst->*reading.value, reading.unit), plain(worst->angle_deg)));
  }
  if (result.steady_mains_a) {
    page.item("-", fmt::format("For comparison, steady: {} rms.",
                               with_unit(*result.steady_mains_a, "A")));
  }
  page.item("!",
            "A switch cannot choose the angle, nor know which way the core was left magnetised: "
            "expect the worst of these on some morning.");
}

std::string remanence_words(double remanence) {
  return remanence > 0.0 ? "+" : remanence < 0.0 ? "-" : "0";
}

void add_points(Page& page, const InrushResult& result) {
  page.heading("MAINS CURRENT AGAINST CLOSING ANGLE (0 deg: mains rising through zero)");
  Table table({{"angle\ndeg", Align::right},
               {"core\nleft", Align::right},
               {"1st cycle\npeak A", Align::right},
               {"\nrms A", Align::right},
               {"\nA^2 s", Align::right},
               {"1st second\npeak A", Align::right},
               {"\nrms A", Align::right},
               {"\nA^2 s", Align::right},
               {"rectifier\npeak A", Align::right},
               {"\nwhich"}});
  const InrushPoint* worst = highest(result, &InrushPoint::first_cycle_peak_a);
  std::vector<std::string> failures;
  for (const InrushPoint& point : result.points) {
    const std::string angle = plain(point.angle_deg);
    if (!point.failure.empty()) {
      failures.push_back(fmt::format("{} deg: no answer: {}", angle, point.failure));
      continue;
    }
    table.row({(&point == worst ? "> " : "") + angle, remanence_words(point.remanence),
               significant(point.first_cycle_peak_a), significant(point.first_cycle_rms_a),
               significant(point.first_cycle_i2t), significant(point.first_second_peak_a),
               significant(point.first_second_rms_a), significant(point.first_second_i2t),
               significant(point.worst_rectifier_peak_a), point.worst_rectifier});
  }
  if (!table.empty()) {
    page.table(table);
    page.text(
        "> marks the highest first-cycle peak. Core left: which way it was magnetised in the worst "
        "case.");
  }
  for (const std::string& failure : failures) {
    page.item("?", failure);
  }
}

}  // namespace

core::Verdict inrush_verdict(const InrushResult& result) {
  const core::Verdict worst = core::worst_verdict(result.findings);
  const bool failed = std::any_of(result.points.begin(), result.points.end(),
                                  [](const InrushPoint& point) { return !point.failure.empty(); });
  return failed && worst == core::Verdict::safe ? core::Verdict::no_verdict : worst;
}

std::string inrush_text(const core::Rig& rig, const InrushResult& result, const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::inrush);
  add_result_line(page, result.findings, inrush_verdict(result));
  add_worst(page, result);
  add_problems(page, result.findings);
  if (!result.points.empty()) {
    add_points(page, result);
  }
  add_kept_limits(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
