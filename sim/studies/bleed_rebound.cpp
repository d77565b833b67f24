#include "sim/studies/bleed_rebound.hpp"

#include <algorithm>
#include <cmath>

#include "sim/studies/absorption.hpp"

namespace firstglow::sim {
namespace {

constexpr int kCurvePoints = 60;
constexpr double kFirstSecond = 0.1;

AbsorptionLadder ladder_of(const Rebound& rebound, const AbsorptionFigure& figure) {
  return AbsorptionLadder(rebound.share, *figure.test);
}

void fill_curve(const AbsorptionLadder& ladder, const ReboundOptions& options, Rebound& rebound) {
  const double ratio = std::max(options.open.si() / kFirstSecond, 1.0);
  rebound.time_s.push_back(0.0);
  rebound.volts.push_back(0.0);
  for (int i = 0; i <= kCurvePoints; ++i) {
    const double time_s =
        std::min(options.open.si(), kFirstSecond * std::pow(ratio, 1.0 * i / kCurvePoints));
    const double volts = rebound.start_v *
                         ladder.share_after(options.charge, options.shorted, core::Seconds(time_s));
    if (volts > rebound.limit_v && !rebound.above_after_s) {
      // the point before: too early is the safe side
      rebound.above_after_s = rebound.time_s.back();
    }
    rebound.time_s.push_back(time_s);
    rebound.volts.push_back(volts);
  }
}

}  // namespace

std::vector<Rebound> rebounds(const core::Rig& rig, const std::map<int, double>& start_v,
                              const std::map<int, double>& limit_v, const ReboundOptions& options) {
  std::vector<Rebound> found;
  for (const auto& [part, volts] : start_v) {
    const core::Part& record = rig.parts[static_cast<std::size_t>(part)];
    const AbsorptionFigure& figure = figure_for(std::get<core::Capacitor>(record.data).dielectric);
    Rebound rebound;
    rebound.part = record.designator;
    rebound.dielectric = figure.dielectric;
    rebound.test = figure.test->words;
    rebound.source = figure.source;
    rebound.status = figure.status;
    rebound.share = figure.high;
    const auto own = options.share.find(record.designator);
    if (own != options.share.end()) {
      rebound.share = own->second;
      rebound.source = "share asked for";
      rebound.status.clear();
    }
    rebound.start_v = std::abs(volts);
    rebound.limit_v = limit_v.at(part);
    const AbsorptionLadder ladder = ladder_of(rebound, figure);
    fill_curve(ladder, options, rebound);
    rebound.peak_v =
        rebound.start_v * ladder.highest_share(options.charge, options.shorted, options.open);
    rebound.short_needed_s = 0.0;
    if (rebound.peak_v > rebound.limit_v) {
      const auto needed =
          ladder.short_needed(options.charge, rebound.limit_v / rebound.start_v, options.open);
      rebound.short_needed_s = needed ? std::optional(needed->si()) : std::nullopt;
    }
    found.push_back(std::move(rebound));
  }
  return found;
}

}  // namespace firstglow::sim
