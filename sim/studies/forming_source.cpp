#include "sim/studies/forming_source.hpp"

#include <algorithm>

#include "core/error.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

/// Below this a can sees no source worth the name.
constexpr double kLeastVolts = 0.5;
constexpr double kLeastOhms = 1.0;
constexpr double kNoSourceOhms = 1e6;

/// The rig with a resistor across one of its parts.
core::Rig with_load(core::Rig rig, std::size_t part, double ohm) {
  const auto& can = std::get<core::Capacitor>(rig.parts[part].data);
  core::Part load;
  load.designator = rig.parts[part].designator + " forming";
  load.kind = "resistor";
  core::Resistor resistor;
  resistor.a = can.plus;
  resistor.b = can.minus;
  resistor.value.marked = core::Ohms(ohm);
  resistor.role = core::ResistorRole::bleeder;
  load.data = resistor;
  rig.parts.push_back(load);
  return rig;
}

double can_volts(Engine& engine, const core::Rig& rig, std::size_t part,
                 const netlists::Situation& situation) {
  SteadyRunner runner(engine, rig);
  const SteadyRun run = runner.run(situation);
  const auto& can = std::get<core::Capacitor>(rig.parts[part].data);
  if (!run.cycle.has_node(can.plus) || !run.cycle.has_node(can.minus)) {
    return 0.0;
  }
  return mean_of({run.cycle.time_s(), run.cycle.volts_between(can.plus, can.minus)});
}

}  // namespace

SourceLine::SourceLine(std::vector<double> variac_vrms, std::vector<FormingSource> sources)
    : variac_vrms_(std::move(variac_vrms)), sources_(std::move(sources)) {
  FIRSTGLOW_REQUIRE(!sources_.empty() && sources_.size() == variac_vrms_.size(),
                    "a source line has a source for each setting");
}

FormingSource SourceLine::at(double variac_vrms) const {
  if (variac_vrms <= variac_vrms_.front()) {
    const double share = std::max(variac_vrms, 0.0) / variac_vrms_.front();
    return {share * sources_.front().open_v, sources_.front().ohm};
  }
  std::size_t k = 1;
  while (k + 1 < variac_vrms_.size() && variac_vrms_[k] < variac_vrms) {
    ++k;
  }
  const double share =
      std::min((variac_vrms - variac_vrms_[k - 1]) / (variac_vrms_[k] - variac_vrms_[k - 1]), 1.0);
  const FormingSource &low = sources_[k - 1], &high = sources_[k];
  return {low.open_v + share * (high.open_v - low.open_v), low.ohm + share * (high.ohm - low.ohm)};
}

std::optional<double> SourceLine::variac_for(double open_v) const {
  if (sources_.front().open_v >= open_v) {
    return variac_vrms_.front() * open_v / sources_.front().open_v;
  }
  for (std::size_t k = 1; k < sources_.size(); ++k) {
    const double low_v = sources_[k - 1].open_v, high_v = sources_[k].open_v;
    if (high_v >= open_v) {
      const double share = (open_v - low_v) / (high_v - low_v);
      return variac_vrms_[k - 1] + share * (variac_vrms_[k] - variac_vrms_[k - 1]);
    }
  }
  return std::nullopt;
}

SourceLine source_line(Engine& engine, const core::Rig& rig, std::size_t part,
                       const std::optional<netlists::LampInSeries>& lamp,
                       const std::vector<double>& variac_vrms, double load_a) {
  std::vector<FormingSource> sources;
  netlists::Situation situation;
  situation.stage = netlists::Stage::filter;
  situation.lamp = lamp;
  for (const double volts : variac_vrms) {
    situation.variac_setting = volts / rig.mains().nominal.si();
    FormingSource source{std::max(can_volts(engine, rig, part, situation), 0.0), kNoSourceOhms};
    if (source.open_v > kLeastVolts) {
      const double load_ohm = source.open_v / load_a;
      const core::Rig loaded = with_load(rig, part, load_ohm);
      const double loaded_v = can_volts(engine, loaded, part, situation);
      if (!(loaded_v > 0.0)) {
        core::SimulationError::Detail detail;
        detail.part = rig.parts[part].designator;
        throw core::SimulationError("the rig gives no volts to a can that draws current", detail);
      }
      source.ohm = std::max((source.open_v - loaded_v) / (loaded_v / load_ohm), kLeastOhms);
    }
    sources.push_back(source);
  }
  return SourceLine(variac_vrms, std::move(sources));
}

}  // namespace firstglow::sim
