#include "sim/studies/rampup_lamps.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

/// General-service lamps that can be had (common practice, no source) [W].
constexpr std::array<double, 7> kLampWatts{25.0, 40.0, 60.0, 100.0, 150.0, 200.0, 300.0};
constexpr double kDimPercent = 10.0;
constexpr double kShortOhm = 1.0;

/// Lamp percent of rated watts at full nominal mains.
double percent_of(SteadyRunner& runner, const core::Rig& rig,
                  const netlists::Situation& situation) {
  const ReadingSheet sheet = sheet_of(rig, runner.run(situation));
  return 100.0 * sheet.lamp_w / situation.lamp->rated_watts.si();
}

/// What a test short is put from: the highest node; where that is the end of a winding, all its
/// ends, since a winding without a chassis end is not shorted by one of them.
std::vector<std::string> shorted_nodes(const core::Rig& rig, const ReadingSheet& sheet) {
  const core::NodeIndex highest = sheet.nodes.at(highest_node(sheet));
  std::vector<std::string> names{rig.node_name(highest)};
  if (is_dc_node(rig, highest)) {
    return names;
  }
  for (const core::Part& part : rig.parts) {
    const auto* transformer = std::get_if<core::PowerTransformer>(&part.data);
    if (transformer == nullptr) {
      continue;
    }
    for (const core::Winding& winding : transformer->secondaries) {
      if (std::find(winding.nodes.begin(), winding.nodes.end(), highest) == winding.nodes.end()) {
        continue;
      }
      for (const core::NodeIndex end : {winding.nodes.front(), winding.nodes.back()}) {
        if (end != highest && end != core::kChassis && end != core::kOpenNode) {
          names.push_back(rig.node_name(end));
        }
      }
    }
  }
  return names;
}

void mark_suggested(std::vector<LampAdvice>& tried) {
  LampAdvice* best = nullptr;
  for (LampAdvice& lamp : tried) {
    const bool dim = lamp.good_percent <= kDimPercent;
    const bool best_dim = best != nullptr && best->good_percent <= kDimPercent;
    const bool brighter = best != nullptr && lamp.short_percent > best->short_percent;
    const bool wider = best != nullptr && lamp.short_percent - lamp.good_percent >
                                              best->short_percent - best->good_percent;
    if (best == nullptr || (dim && (!best_dim || brighter)) || (!dim && !best_dim && wider)) {
      best = &lamp;
    }
  }
  if (best != nullptr) {
    best->suggested = true;
    best->why = best->good_percent <= kDimPercent
                    ? "dark or dull red when all is good, brightest of these on a short"
                    : "no lamp stays under 10 % here; this one has the widest contrast";
  }
}

}  // namespace

core::RmsVolts lamp_volts_for(const core::Rig& rig) {
  return core::RmsVolts(rig.mains().nominal.si() > 170.0 ? 230.0 : 120.0);
}

std::vector<LampAdvice> try_lamps(Engine& engine, const core::Rig& rig, netlists::Stage stage) {
  netlists::Situation situation;
  situation.stage = stage;
  SteadyRunner good(engine, rig);
  const ReadingSheet plain = sheet_of(rig, good.run(situation));
  const std::vector<std::string> shorted = shorted_nodes(rig, plain);
  SteadyRunner with_short(engine, rig);
  std::vector<LampAdvice> tried;
  // from the largest: it changes least, and each solution starts the next
  for (auto watts = kLampWatts.rbegin(); watts != kLampWatts.rend(); ++watts) {
    situation.lamp = netlists::LampInSeries{core::Watts(*watts), lamp_volts_for(rig)};
    LampAdvice advice;
    advice.stage = stage;
    advice.rated_watts = *watts;
    try {
      situation.shunts.clear();
      advice.good_percent = percent_of(good, rig, situation);
      for (const std::string& node : shorted) {
        situation.shunts[node] = kShortOhm;
      }
      advice.short_percent = percent_of(with_short, rig, situation);
      advice.why = fmt::format("short: {} to chassis through 1 ohm{}", fmt::join(shorted, " and "),
                               shorted.size() > 1 ? " each" : "");
      tried.push_back(advice);
    } catch (const core::SimulationError&) {
      continue;  // a lamp without both answers cannot be advised
    }
  }
  std::reverse(tried.begin(), tried.end());
  mark_suggested(tried);
  return tried;
}

}  // namespace firstglow::sim
