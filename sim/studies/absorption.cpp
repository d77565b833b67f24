#include "sim/studies/absorption.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/error.hpp"
#include "sim/studies/linear_discharge.hpp"

namespace firstglow::sim {
namespace {

using core::Seconds;

constexpr std::array<double, 6> kTausSeconds{1.0, 10.0, 100.0, 1e3, 1e4, 1e5};
constexpr AbsorptionTest kMilitary{"15 min charged, 10 s shorted, read after 15 min", "WIMA-DA",
                                   Seconds(900.0), Seconds(10.0), Seconds(900.0)};
constexpr AbsorptionTest kIec{"1 h charged, 10 s shorted, read after 15 min", "GLASER-DA",
                              Seconds(3600.0), Seconds(10.0), Seconds(900.0)};
// [GLASER-DA]: one part charged to 16 V, 0.6706 V after 15 min (4.19 %) and 1.083 V after two
// weeks. The page calls the second 6.30 %, but 1.083 V of 16 V are 6.77 %: the volts are taken,
// which is the dangerous side.
constexpr double kMeasuredShare = 0.6706 / 16.0;
constexpr double kMeasuredLateShare = 1.083 / 16.0;
constexpr double kTwoWeeksSeconds = 14.0 * 86400.0;
constexpr double kMonthSeconds = 30.0 * 86400.0;
constexpr double kFirstLookSeconds = 0.1;
constexpr int kLooks = 100;

constexpr std::array<AbsorptionFigure, 7> kFigures{{
    {"wet aluminium electrolytic", 0.10, 0.15, &kIec, "GLASER-DA", "second hand"},
    {"polypropylene film", 0.0005, 0.0010, &kMilitary, "WIMA-DA", "read"},
    {"polyester film", 0.0020, 0.0025, &kMilitary, "WIMA-DA", "read"},
    {"mixed film", 0.0012, 0.0018, &kMilitary, "WIMA-DA", "read"},
    {"ceramic X7R", 0.0060, 0.0100, &kMilitary, "WIMA-DA", "read"},
    {"ceramic Z5U", 0.0200, 0.0250, &kMilitary, "WIMA-DA", "read"},
    {"paper in oil", 0.0100, 0.0500, &kMilitary, "PAPER-OIL-DA", "from memory 70 %"},
}};

using Fractions = std::vector<double>;

Fractions fractions_of(double size, double growth) {
  Fractions fractions;
  double fraction = size;
  for (std::size_t i = 0; i < kTausSeconds.size(); ++i) {
    fractions.push_back(fraction);
    fraction *= growth;
  }
  return fractions;
}

/// The ladder with its ends open, from the state that charge and short leave.
LinearDischarge::Course open_course(const Fractions& fractions, Seconds charge, Seconds shorted) {
  LinearNetwork network;
  network.node_count = 2 + static_cast<int>(fractions.size());
  network.capacitors.push_back({1, 0, 1.0, -1});
  std::vector<double> start{0.0};
  for (std::size_t i = 0; i < fractions.size(); ++i) {
    const double tau_s = kTausSeconds[i];
    const int node = 2 + static_cast<int>(i);
    network.resistors.push_back({1, node, tau_s / fractions[i], -1});
    network.capacitors.push_back({node, 0, fractions[i], -1});
    start.push_back(-std::expm1(-charge.si() / tau_s) * std::exp(-shorted.si() / tau_s));
  }
  return LinearDischarge(network).from(start);
}

double share_of(const Fractions& fractions, Seconds charge, Seconds shorted, Seconds open) {
  return open_course(fractions, charge, shorted).state_at(0, open.si());
}

/// Root of a rising function by halving.
template <class Function>
double rising_root(double low, double high, double wanted, Function function) {
  for (int i = 0; i < 30; ++i) {
    const double middle = 0.5 * (low + high);
    (function(middle) < wanted ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// Branches load each other a little, so what comes back is nearly, not quite, in proportion.
double size_for(double growth, double share, const AbsorptionTest& test) {
  double size = share;
  for (int i = 0; i < 20; ++i) {
    size *= share / share_of(fractions_of(size, growth), test.charge, test.shorted, test.open);
  }
  return size;
}

/// The growth from decade to decade that gives both readings of the one part.
double measured_growth() {
  static const double kGrowth = rising_root(0.5, 4.0, kMeasuredLateShare, [](double growth) {
    const double size = size_for(growth, kMeasuredShare, kIec);
    return share_of(fractions_of(size, growth), kIec.charge, kIec.shorted,
                    Seconds(kTwoWeeksSeconds));
  });
  return kGrowth;
}

}  // namespace

const AbsorptionTest& military_absorption_test() { return kMilitary; }
const AbsorptionTest& iec_absorption_test() { return kIec; }
std::span<const AbsorptionFigure> absorption_figures() { return kFigures; }

const AbsorptionFigure& figure_for(core::Dielectric dielectric) {
  switch (dielectric) {
    case core::Dielectric::film:
      return kFigures[5];
    case core::Dielectric::paper_oil:
      return kFigures[6];
    case core::Dielectric::electrolytic:
      break;
  }
  return kFigures[0];
}

AbsorptionLadder::AbsorptionLadder(double share, const AbsorptionTest& test) {
  FIRSTGLOW_REQUIRE(share > 0.0 && share < 0.5, "absorption lies above 0 and below 50 %");
  const double growth = measured_growth();
  fractions_ = fractions_of(size_for(growth, share, test), growth);
}

double AbsorptionLadder::share_after(Seconds charge, Seconds shorted, Seconds open) const {
  return share_of(fractions_, charge, shorted, open);
}

double AbsorptionLadder::highest_share(Seconds charge, Seconds shorted, Seconds open) const {
  const auto course = open_course(fractions_, charge, shorted);
  double highest = 0.0;
  const double ratio = std::max(open.si() / kFirstLookSeconds, 1.0);
  for (int i = 0; i <= kLooks; ++i) {
    const double time_s =
        std::min(open.si(), kFirstLookSeconds * std::pow(ratio, 1.0 * i / kLooks));
    highest = std::max(highest, course.state_at(0, time_s));
  }
  return highest;
}

std::optional<Seconds> AbsorptionLadder::short_needed(Seconds charge, double limit_share,
                                                      Seconds open) const {
  FIRSTGLOW_REQUIRE(limit_share > 0.0, "a rebound limit lies above 0");
  const auto holds = [&](double shorted_s) {
    return highest_share(charge, Seconds(shorted_s), open) <= limit_share;
  };
  if (holds(0.0)) {
    return Seconds(0.0);
  }
  if (!holds(kMonthSeconds)) {
    return std::nullopt;
  }
  double low_s = 0.0, high_s = kMonthSeconds;
  while (high_s - low_s > 0.01 * high_s && high_s > kFirstLookSeconds) {
    // by ratio, since the answer may be seconds or days
    const double middle_s = low_s == 0.0 ? high_s / 10.0 : std::sqrt(low_s * high_s);
    (holds(middle_s) ? high_s : low_s) = middle_s;
  }
  return Seconds(high_s);
}

}  // namespace firstglow::sim
