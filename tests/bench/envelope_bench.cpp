/// @file
/// How much faster is the envelope than the engine's own transient, and how far off is it?
///
/// One run, side by side: the even ramp of 10 minutes; the hard case (turns of the variac, a load
/// step, mains off, forming, absorption); 8 h of re-forming, of which two minutes are run
/// directly and the rest of the direct time is extrapolated.

#include <fmt/format.h>

#include <array>
#include <chrono>
#include <cmath>
#include <string>

#include "sim/engine/worker_pool.hpp"
#include "tests/envelope/long_runs.hpp"

namespace {

using firstglow::sim::Engine;
using firstglow::sim::EnvelopeCourse;
using firstglow::sim::EnvelopeStretch;
using Programme = std::vector<EnvelopeStretch>;

template <class Work>
double seconds_of(Work work) {
  const auto begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

void print_head() {
  fmt::print("{:<22}{:>11}{:>11}{:>9}{:>8}{:>12}{:>14}\n", "programme", "direct s", "envelope s",
             "ratio", "runs", "error V", "first s, V");
}

void side_by_side(Engine& engine, const std::string& name, const Programme& programme,
                  int piece_cycles) {
  firstglow::sim::EnvelopeOptions options;
  options.period_s = firstglow::test::kMainsPeriodS;
  EnvelopeCourse course;
  const double envelope_s =
      seconds_of([&] { course = firstglow::sim::follow_envelope(engine, programme, options); });
  std::vector<firstglow::test::DirectPoint> direct;
  const double direct_s = seconds_of(
      [&] { direct = firstglow::test::follow_directly(engine, programme, piece_cycles); });
  if (piece_cycles > 1 && !programme.front().laws.empty()) {
    // slow states held over a piece cost the direct run accuracy: judge by pieces of one cycle
    direct = firstglow::test::follow_directly(engine, programme, 1);
  }
  const auto worst = firstglow::test::difference_of(programme, course, direct);
  fmt::print("{:<22}{:>11.2f}{:>11.3f}{:>9.0f}{:>8}{:>12.3f}{:>14.3f}\n", name, direct_s,
             envelope_s, direct_s / envelope_s, course.cycle_runs, worst.volts,
             worst.first_second_v);
  fmt::print("{:<22}steps {} taken, {} refused; largest error bound {:.3f} V, worst at {:.2f} s\n",
             "", course.steps_taken, course.steps_refused, course.largest_error_v, worst.at_s);
}

/// How each stretch of the hard case was found.
void print_ways(Engine& engine) {
  const Programme programme = firstglow::test::hard_programme();
  firstglow::sim::EnvelopeOptions options;
  options.period_s = firstglow::test::kMainsPeriodS;
  const EnvelopeCourse course = firstglow::sim::follow_envelope(engine, programme, options);
  for (const firstglow::sim::StretchCourse& stretch : course.stretches) {
    std::array<int, 3> count{};
    for (const firstglow::sim::EnvelopeWay way : stretch.ways) {
      ++count[static_cast<std::size_t>(way)];
    }
    fmt::print("from {:7.2f} s: {:4} cycles run, {:3} steps, {:3} points by exponential\n",
               stretch.start_s, count[0], count[1], count[2]);
  }
  const auto fine = firstglow::test::follow_directly(engine, programme, 1);
  const auto coarse = firstglow::test::follow_directly(engine, programme, 6);
  double worst_v = 0.0;
  for (std::size_t i = 0, k = 0; i < coarse.size(); ++i) {
    while (k + 1 < fine.size() && fine[k].time_s < coarse[i].time_s - 1e-6) {
      ++k;
    }
    const double volts = std::abs(fine[k].value[6] - coarse[i].value[6]);
    if (volts > worst_v) {
      worst_v = volts;
      fmt::print("direct in pieces of 1 and 6 cycles: {:.3f} V apart at {:.3f} s\n", volts,
                 coarse[i].time_s);
    }
  }
  const auto worst = firstglow::test::difference_of(programme, course, fine);
  fmt::print("against pieces of 1 cycle: {:.3f} V at {:.3f} s, first seconds {:.3f} V\n",
             worst.volts, worst.at_s, worst.first_second_v);
}

/// Full line for eight hours with a film that forms and absorption.
Programme reforming(double length_s) {
  Programme programme = firstglow::test::hard_programme();
  EnvelopeStretch turn = programme[0];
  turn.to_share = 0.8;
  turn.length_s = 60.0;
  EnvelopeStretch hold = programme[1];
  hold.from_share = hold.to_share = 0.8;
  hold.length_s = length_s - turn.length_s;
  return {turn, hold};
}

void eight_hours(Engine& engine) {
  firstglow::sim::EnvelopeOptions options;
  options.period_s = firstglow::test::kMainsPeriodS;
  const double hours_s = 8.0 * 3600.0, stretch_s = 120.0;
  EnvelopeCourse course;
  const double envelope_s = seconds_of(
      [&] { course = firstglow::sim::follow_envelope(engine, reforming(hours_s), options); });
  std::vector<firstglow::test::DirectPoint> direct;
  const double direct_s = seconds_of(
      [&] { direct = firstglow::test::follow_directly(engine, reforming(stretch_s), 60); });
  const double whole_s = direct_s * hours_s / stretch_s;
  fmt::print("{:<22}{:>11.0f}{:>11.3f}{:>9.0f}{:>8}   direct extrapolated from {:.0f} s\n",
             "re-forming, 8 h", whole_s, envelope_s, whole_s / envelope_s, course.cycle_runs,
             stretch_s);
}

}  // namespace

int main(int argc, char** argv) {
  const bool quick = argc > 1 && std::string(argv[1]) == "--quick";
  firstglow::sim::WorkerPool pool({1, {}});
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    if (argc > 1 && std::string(argv[1]) == "--ways") {
      print_ways(engine);
      return;
    }
    print_head();
    if (quick) {
      side_by_side(engine, "even ramp, 1 min", firstglow::test::even_ramp(60.0), 60);
    } else {
      side_by_side(engine, "even ramp, 10 min", firstglow::test::even_ramp(600.0), 60);
      side_by_side(engine, "hard case, 10 min", firstglow::test::hard_programme(), 6);
    }
    eight_hours(engine);
  });
  return 0;
}
