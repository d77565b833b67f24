// The absorption ladder against published percentages and the procedures they were measured by, and
// against SUNDIALS CVODE.
#include "sim/studies/absorption.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "core/error.hpp"
#include "tests/published/ode_solver.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using core::Seconds;
using sim::AbsorptionLadder;

constexpr Seconds kTwoWeeks{14.0 * 86400.0};
constexpr Seconds kDay{86400.0};

double by_test(const AbsorptionLadder& ladder, const sim::AbsorptionTest& test) {
  return ladder.share_after(test.charge, test.shorted, test.open);
}

// [GLASER-DA]: one part, 16 V, 0.6706 V after the procedure of IEC 60384-1: 4.19 %; 1.083 V after
// about two weeks. (The page calls that 6.30 %, which its volts do not give.)
TEST(Absorption, GivesBackBothReadingsOfTheMeasuredPart) {
  const AbsorptionLadder ladder(0.6706 / 16.0, sim::iec_absorption_test());
  EXPECT_TRUE(agrees(16.0 * by_test(ladder, sim::iec_absorption_test()),
                     {0.6706, 0.0, 0.00005, "[GLASER-DA] 15 min"}));
  const auto& test = sim::iec_absorption_test();
  EXPECT_TRUE(agrees(16.0 * ladder.share_after(test.charge, test.shorted, kTwoWeeks),
                     {1.083, 0.0, 0.01, "[GLASER-DA] two weeks, about"}));
}

// [WIMA-DA]: polypropylene 0.05-0.10 %, polyester 0.20-0.25 %, mixed 0.12-0.18 %, X7R 0.60-1.00 %,
// Z5U 2.00-2.50 % by the procedure of MIL-C-19978. The other procedure charges four times as long,
// so it must find more, but no more than the slow branches can add: less than half as much again.
TEST(Absorption, EveryDielectricGivesBackItsFigureByItsProcedure) {
  struct Row {
    const char* dielectric;
    double low, high;
  };
  constexpr Row kList[] = {{"polypropylene film", 0.0005, 0.0010},
                           {"polyester film", 0.0020, 0.0025},
                           {"mixed film", 0.0012, 0.0018},
                           {"ceramic X7R", 0.0060, 0.0100},
                           {"ceramic Z5U", 0.0200, 0.0250}};
  for (const Row& row : kList) {
    int found = 0;
    for (const sim::AbsorptionFigure& figure : sim::absorption_figures()) {
      if (std::string(figure.dielectric) != row.dielectric) {
        continue;
      }
      ++found;
      for (const double share : {row.low, row.high}) {
        const AbsorptionLadder ladder(share, *figure.test);
        const double military = by_test(ladder, sim::military_absorption_test());
        EXPECT_TRUE(agrees(military, {share, 1e-6, 0.0, "[WIMA-DA]"})) << row.dielectric;
        const double longer = by_test(ladder, sim::iec_absorption_test());
        EXPECT_GT(longer, military) << row.dielectric;
        EXPECT_LT(longer, 1.5 * military) << row.dielectric;
      }
      EXPECT_EQ(figure.low, row.low);
      EXPECT_EQ(figure.high, row.high);
    }
    EXPECT_EQ(found, 1) << row.dielectric;
  }
}

// [GLASER-DA]: 10 to 15 % for wet aluminium.
TEST(Absorption, WetAluminiumIsTakenAtTheUpperEndOfItsClass) {
  const auto& figure = sim::figure_for(core::Dielectric::electrolytic);
  EXPECT_EQ(figure.low, 0.10);
  EXPECT_EQ(figure.high, 0.15);
  EXPECT_NEAR(by_test(AbsorptionLadder(figure.high, *figure.test), *figure.test), 0.15, 1e-6);
}

// The task of the hook: 600 V on wet aluminium, shorted for 2 s. Even the lower end of the class,
// read as soon as in the published test, is 60 V.
TEST(Absorption, TwoSecondsOfShortAtSixHundredVoltsComeBackAboveFiftyVolts) {
  const AbsorptionLadder lowest(0.10, sim::iec_absorption_test());
  EXPECT_GT(600.0 * lowest.share_after(Seconds(3600.0), Seconds(2.0), Seconds(900.0)), 50.0);
  const AbsorptionLadder highest(0.15, sim::iec_absorption_test());
  EXPECT_GT(600.0 * highest.highest_share(Seconds(3600.0), Seconds(2.0), kDay), 90.0);
}

// A longer short leaves less, a longer charge more; the short found is just long enough.
TEST(Absorption, ShortNeededIsJustLongEnough) {
  const AbsorptionLadder ladder(0.15, sim::iec_absorption_test());
  const Seconds charge(8 * 3600.0);
  EXPECT_GT(ladder.highest_share(charge, Seconds(2.0), kDay),
            ladder.highest_share(charge, Seconds(60.0), kDay));
  EXPECT_GT(ladder.highest_share(charge, Seconds(2.0), kDay),
            ladder.highest_share(Seconds(60.0), Seconds(2.0), kDay));
  const auto needed = ladder.short_needed(charge, 50.0 / 600.0, kDay);
  ASSERT_TRUE(needed);
  EXPECT_LE(600.0 * ladder.highest_share(charge, *needed, kDay), 50.0);
  EXPECT_GT(600.0 * ladder.highest_share(charge, *needed * 0.97, kDay), 50.0);
  EXPECT_EQ(ladder.short_needed(charge, 0.9, kDay).value().si(), 0.0);
  EXPECT_FALSE(ladder.short_needed(Seconds(30 * 86400.0), 1e-15, kDay));
}

TEST(Absorption, RefusesSharesThatNoDielectricHas) {
  EXPECT_THROW((void)AbsorptionLadder(0.0, sim::iec_absorption_test()), core::ContractError);
  EXPECT_THROW((void)AbsorptionLadder(0.6, sim::iec_absorption_test()), core::ContractError);
}

// One branch more or less would do to fool a fit; CVODE integrates the published procedure from
// empty, with real ohms (5 ohm across 100 uF), for the ladder's own branches. That the branches are
// what the header says is checked by their sum: after an endless charge and no short at all the
// ladder stands at the charging volts.
TEST(Absorption, StandsStillWithoutAShort) {
  const AbsorptionLadder ladder(0.15, sim::iec_absorption_test());
  const auto& fractions = ladder.fractions();
  double sum = 0.0;
  for (const double f : fractions) {
    sum += f;
  }
  const double settled = ladder.share_after(Seconds(1e8), Seconds(0.0), Seconds(1e8));
  EXPECT_NEAR(settled, sum / (1.0 + sum), 1e-6);  // by hand: charge shared with the empty C
}

TEST(Absorption, AgreesWithCvodeOnTheWholeProcedure) {
  const AbsorptionLadder ladder(0.15, sim::iec_absorption_test());
  const std::vector<double>& f = ladder.fractions();
  const double taus_s[] = {1.0, 10.0, 100.0, 1e3, 1e4, 1e5};
  const auto phase = [&](double drive_v, double ohm_farad_s) {
    OdeProblem problem;
    problem.rate = [&f, &taus_s, drive_v, ohm_farad_s](double, const double* y, double* dy) {
      dy[0] = ohm_farad_s > 0.0 ? (drive_v - y[0]) / ohm_farad_s : 0.0;
      for (std::size_t i = 0; i < f.size(); ++i) {
        dy[i + 1] = (y[0] - y[i + 1]) / taus_s[i];
        dy[0] -= f[i] * dy[i + 1];
      }
    };
    return problem;
  };
  std::vector<double> state(f.size() + 1, 0.0);
  const auto run = [&](const OdeProblem& problem, double seconds) {
    OdeSolver solver(problem, state);
    solver.advance(seconds);
    state = solver.state();
  };
  run(phase(1.0, 5e-4), 3600.0);
  run(phase(0.0, 5e-4), 10.0);
  run(phase(0.0, 0.0), 900.0);
  EXPECT_TRUE(agrees(by_test(ladder, sim::iec_absorption_test()),
                     {state[0], 1e-3, 0.0, "SUNDIALS CVODE, charge, 5 ohm, open"}));
}

}  // namespace
}  // namespace firstglow::published
