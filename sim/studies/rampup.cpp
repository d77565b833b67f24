#include "sim/studies/rampup.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/studies/job_counter.hpp"
#include "sim/studies/rampup_lamps.hpp"
#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/rampup_tubes.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {
namespace {

using netlists::Situation;
using netlists::Stage;

/// Stop limits, common practice, no source: mains current half above the prediction, lamp at twice
/// its predicted watts, B+ per mains volt 10 % off, a stack's joint outside 45-55 %.
constexpr double kStopMains = 1.5;
constexpr double kStopLamp = 2.0;
constexpr double kStopRatio = 0.10;
constexpr double kStopJoint = 0.05;

/// Index of the figures in ReadingSheet::banded().
constexpr std::size_t kMainsA = 0, kMainsW = 1, kLampV = 2, kLampW = 3, kFirstNode = 4;

void widen(Band& band, double value) {
  band.low = std::min(band.low, value);
  band.high = std::max(band.high, value);
}

RampStep refused(double volts, const std::string& why) {
  RampStep step;
  step.variac_vrms = volts;
  step.failure = why;
  step.refused = true;
  return step;
}

/// One stage, with or without lamp, over the whole ladder, on one worker.
class PassMaker {
 public:
  PassMaker(Engine& engine, const core::Rig& rig, Stage stage,
            std::optional<netlists::LampInSeries> lamp)
      : engine_(engine), rig_(rig), lamp_(lamp), full_mains_(engine, rig) {
    pass_.stage = stage;
    pass_.with_lamp = lamp.has_value();
  }

  RampPass make(const std::vector<double>& ladder_vrms) {
    pass_.gates = rectifier_gates(rig_, pass_.stage);
    const std::string refusal = refused_ladder(rig_, pass_.stage);
    if (!refusal.empty()) {
      for (const double volts : ladder_vrms) {
        pass_.steps.push_back(refused(volts, refusal));
      }
      return std::move(pass_);
    }
    try {
      find_sensitivity();
    } catch (const core::SimulationError& error) {
      failure_ = error.what();
    }
    // from the top: the tolerances were found at full mains, and the rest starts there
    std::vector<double> falling = ladder_vrms;
    std::sort(falling.begin(), falling.end(), std::greater<>());
    std::map<double, RampStep> made;
    for (const double volts : falling) {
      if (!made.contains(volts)) {
        made.emplace(volts, make_step(volts));
      }
    }
    for (const double volts : ladder_vrms) {
      pass_.steps.push_back(made.at(volts));
    }
    return std::move(pass_);
  }

 private:
  [[nodiscard]] Situation situation_at(double volts, double line_v) const {
    Situation situation;
    situation.stage = pass_.stage;
    situation.lamp = lamp_;
    situation.line = core::RmsVolts(line_v);
    situation.variac_setting = volts / rig_.mains().nominal.si();
    return situation;
  }

  void find_sensitivity() {
    const std::vector<std::string> parts = toleranced_parts(rig_, pass_.stage);
    const double nominal_v = rig_.mains().nominal.si();
    Situation situation = situation_at(nominal_v, nominal_v);
    (void)full_mains_.run(situation);
    std::vector<std::vector<double>> figures;
    for (const Corner& corner : single_corners(parts)) {
      SteadyRunner runner(engine_, rig_);
      runner.start_from(full_mains_);
      situation.corner = corner;
      ReadingSheet sheet = sheet_of(rig_, runner.run(situation));
      figures.push_back(sheet.banded());
      if (figures.size() == 1) {
        full_joints_ = sheet.joints;
        key_node_ = highest_node(sheet);
      }
    }
    sensitivity_.emplace(parts, std::move(figures));
    low_corner_ = sensitivity_->corner_for(kFirstNode + key_node_, -1);
    high_corner_ = sensitivity_->corner_for(kFirstNode + key_node_, 1);
  }

  /// One corner along the ladder keeps its own runner, so that each step starts from the last.
  ReadingSheet read(std::size_t chain, double volts, double line_v, const Corner& corner) {
    while (chains_.size() <= chain) {
      chains_.push_back(std::make_unique<SteadyRunner>(engine_, rig_));
      chains_.back()->start_from(full_mains_);
    }
    Situation situation = situation_at(volts, line_v);
    situation.corner = corner;
    return sheet_of(rig_, chains_[chain]->run(situation));
  }

  RampStep make_step(double volts) {
    RampStep step;
    step.variac_vrms = volts;
    step.failure = failure_;
    if (!failure_.empty()) {
      return step;
    }
    try {
      fill(step, volts);
    } catch (const core::SimulationError& error) {
      step = RampStep{};
      step.variac_vrms = volts;
      step.failure = error.what();
    }
    return step;
  }

  /// A step on which a tube may or may not conduct yet covers both: the same without it.
  void cover_cold_tubes(RampStep& step, double volts) {
    Situation situation = situation_at(volts, rig_.mains().nominal.si());
    for (const HeaterState& state : nominal_.heaters) {
      if (state.conduction == Conduction::uncertain) {
        situation.cold_rectifiers.insert(state.part);
        step.remarks.push_back(
            fmt::format("{} MAY OR MAY NOT CONDUCT YET: heater {:.3g} V rms, {:.0f} % of rated; "
                        "nominal is with it conducting",
                        state.part, state.heater_vrms, 100.0 * state.share));
      } else if (state.conduction == Conduction::none) {
        step.remarks.push_back(fmt::format(
            "{} does not conduct yet, its heater has at most half of its volts", state.part));
      }
    }
    if (!situation.cold_rectifiers.empty()) {
      SteadyRunner runner(engine_, rig_);
      corners_.push_back(sheet_of(rig_, runner.run(situation)));
    }
  }

  void fill(RampStep& step, double volts) {
    const core::MainsInlet& mains = rig_.mains();
    const double nominal_v = mains.nominal.si();
    nominal_ = read(0, volts, nominal_v, Corner{});
    const std::string refusal = refused_step(rig_, nominal_.heaters);
    if (!refusal.empty()) {
      step = refused(volts, refusal);
      return;
    }
    corners_ = {read(1, volts, mains.low.si(), low_corner_),
                read(2, volts, mains.high.si(), high_corner_)};
    cover_cold_tubes(step, volts);
    step.mains_a = band_of(kMainsA);
    step.mains_w = band_of(kMainsW);
    if (lamp_) {
      step.lamp = LampReading{band_of(kLampV), band_of(kLampW),
                              100.0 * nominal_.lamp_w / lamp_->rated_watts.si()};
    }
    fill_nodes(step);
    fill_parts(step);
    fill_joints(step);
    fill_regulators(step);
    add_stop_limits(step);
  }

  /// Nominal figure widened by the tolerances one at a time (as found at full mains, in
  /// proportion), by the line in proportion, and by the corner runs.
  [[nodiscard]] Band band_of(std::size_t i) const {
    const double value = nominal_.banded().at(i);
    Band band = parts_band(i);
    const core::MainsInlet& mains = rig_.mains();
    for (const double line_v : {mains.low.si(), mains.high.si()}) {
      const double share = line_v / mains.nominal.si();
      const Band parts = parts_band(i);
      widen(band, parts.low * share);
      widen(band, parts.high * share);
    }
    for (const ReadingSheet& sheet : corners_) {
      widen(band, sheet.banded().at(i));
    }
    band.nominal = value;
    return band;
  }

  [[nodiscard]] Band parts_band(std::size_t i) const {
    return parts_band(nominal_.banded().at(i), i);
  }

  /// About a value, with the tolerances of figure i at full mains.
  [[nodiscard]] Band parts_band(double value, std::size_t i) const {
    const double full = sensitivity_->nominal().at(i);
    Band band{value, value, value};
    if (full != 0.0) {
      widen(band, value * (1.0 + sensitivity_->fall(i) / full));
      widen(band, value * (1.0 + sensitivity_->rise(i) / full));
    }
    return band;
  }

  void fill_nodes(RampStep& step) const {
    const std::size_t first_ac = kFirstNode + nominal_.nodes.size() + nominal_.parts.size();
    for (std::size_t n = 0; n < nominal_.nodes.size(); ++n) {
      NodeReading reading;
      reading.node = rig_.node_name(nominal_.nodes[n]);
      reading.main_dc = is_supply(rig_, nominal_, n);
      reading.dc_v = band_of(kFirstNode + n);
      reading.ac_vrms = nominal_.node_ac_vrms[n];
      reading.ac_v = band_of(first_ac + n);
      reading.ripple_vpp = nominal_.node_vpp[n];
      reading.per_mains_volt = ratio_band(n);
      step.nodes.push_back(reading);
    }
  }

  [[nodiscard]] Band ratio_band(std::size_t n) const {
    const Band volts = parts_band(kFirstNode + n);
    const double variac = nominal_.variac_vrms;
    Band ratio{volts.low / variac, volts.nominal / variac, volts.high / variac};
    for (const ReadingSheet& sheet : corners_) {
      widen(ratio, sheet.node_dc_v[n] / sheet.variac_vrms);
    }
    return ratio;
  }

  void fill_parts(RampStep& step) const {
    const std::size_t first = kFirstNode + nominal_.nodes.size();
    for (std::size_t p = 0; p < nominal_.parts.size(); ++p) {
      const core::Part& part = rig_.parts[static_cast<std::size_t>(nominal_.parts[p])];
      PartHeat heat;
      heat.part = part.designator;
      heat.watts = band_of(first + p);
      if (const auto* resistor = std::get_if<core::Resistor>(&part.data);
          resistor != nullptr && resistor->watts) {
        heat.rated_watts = resistor->watts->si();
      }
      step.heats.push_back(heat);
    }
  }

  /// A stack without volts has no joint to read: only those of both full mains and this step count.
  void fill_joints(RampStep& step) const {
    const std::size_t first = kFirstNode + 2 * nominal_.nodes.size() + nominal_.parts.size();
    for (std::size_t j = 0; j < nominal_.joints.size(); ++j) {
      const netlists::StackJoint& joint = nominal_.joints[j];
      const auto full = std::find_if(full_joints_.begin(), full_joints_.end(),
                                     [&](const auto& each) { return each.node == joint.node; });
      if (full == full_joints_.end()) {
        continue;
      }
      const auto place = static_cast<std::size_t>(full - full_joints_.begin());
      step.midpoints.push_back({rig_.node_name(joint.node), rig_.node_name(joint.top),
                                rig_.node_name(joint.bottom),
                                parts_band(nominal_.joint_fraction[j], first + place)});
    }
  }

  void fill_regulators(RampStep& step) const {
    for (std::size_t k = 0; k < nominal_.regulators.size(); ++k) {
      RegulatorReading reading;
      reading.part = rig_.parts[static_cast<std::size_t>(nominal_.regulators[k])].designator;
      reading.lit = reading.lit_in_all = reading.lit_in_some = nominal_.regulator_lit[k];
      for (const ReadingSheet& sheet : corners_) {
        reading.lit_in_all = reading.lit_in_all && sheet.regulator_lit.at(k);
        reading.lit_in_some = reading.lit_in_some || sheet.regulator_lit.at(k);
      }
      reading.volts = nominal_.regulator_v[k];
      step.regulators.push_back(reading);
    }
  }

  void add_stop_limits(RampStep& step) const {
    step.stop_if.push_back({"mains current, true rms", "A", std::nullopt,
                            std::max(kStopMains * step.mains_a.nominal, step.mains_a.high),
                            "short, shorted turns or a wrong load"});
    if (step.lamp) {
      step.stop_if.push_back({"lamp power", "W", std::nullopt,
                              std::max(kStopLamp * step.lamp->watts.nominal, step.lamp->watts.high),
                              "more is drawn than a good rig draws"});
    }
    for (const NodeReading& node : step.nodes) {
      const Band& ratio = node.per_mains_volt;
      // a node whose own band is wide or near zero says nothing through its ratio
      if (!node.main_dc || std::abs(ratio.nominal) < 0.1) {
        continue;
      }
      const double slack = kStopRatio * std::abs(ratio.nominal);
      step.stop_if.push_back({node.node + " per volt of the variac output", "V DC/V",
                              std::min(ratio.low, ratio.nominal - slack),
                              std::max(ratio.high, ratio.nominal + slack),
                              "rectifier, choke, bleeder or load is not as recorded"});
    }
    for (const MidpointReading& joint : step.midpoints) {
      step.stop_if.push_back({joint.node + " as a share of " + joint.top + " to " + joint.bottom,
                              "", std::min(joint.fraction.low, joint.fraction.nominal - kStopJoint),
                              std::max(joint.fraction.high, joint.fraction.nominal + kStopJoint),
                              "an equaliser is open or a capacitor leaks or is shorted"});
    }
  }

  Engine& engine_;
  const core::Rig& rig_;
  std::optional<netlists::LampInSeries> lamp_;
  SteadyRunner full_mains_;  ///< nominal, no tolerance
  RampPass pass_;
  std::string failure_;
  std::optional<Sensitivity> sensitivity_;
  std::size_t key_node_ = 0;
  std::vector<netlists::StackJoint> full_joints_;
  Corner low_corner_, high_corner_;
  std::vector<std::unique_ptr<SteadyRunner>> chains_;
  ReadingSheet nominal_;
  std::vector<ReadingSheet> corners_;  ///< low corner on low line, high corner on high line
};

/// Worst watts of each rated resistor over all steps, against its rating.
void add_heat_findings(const RampPass& pass, std::vector<core::Finding>& findings) {
  for (const RampStep& step : pass.steps) {
    for (const PartHeat& heat : step.heats) {
      if (!heat.rated_watts) {
        continue;
      }
      auto found = std::find_if(findings.begin(), findings.end(), [&](const core::Finding& f) {
        return f.rule == "resistor-watts" && f.part == heat.part;
      });
      if (found == findings.end()) {
        core::Finding finding;
        finding.rule = "resistor-watts";
        finding.part = heat.part;
        finding.quantity = "mean dissipation";
        finding.unit = "W";
        finding.value = -1.0;
        finding.limit = heat.rated_watts;
        finding.limit_source = "rating in the record";
        findings.push_back(finding);
        found = findings.end() - 1;
      }
      if (heat.watts.high > *found->value) {
        found->value = heat.watts.high;
        found->situation = fmt::format("{}, {}variac {:.3g} V rms, worst of tolerance and line",
                                       netlists::stage_words(pass.stage),
                                       pass.with_lamp ? "with lamp, " : "", step.variac_vrms);
        found->verdict =
            heat.watts.high <= *heat.rated_watts ? core::Verdict::safe : core::Verdict::unsafe;
      }
    }
  }
}

void add_failures(const RampPass& pass, std::vector<core::Finding>& findings) {
  for (const RampStep& step : pass.steps) {
    if (!step.failure.empty()) {
      core::Finding finding;
      finding.rule = step.refused ? "filament-first" : "simulation";
      finding.quantity = step.refused ? "filament hot before plate volts" : "run";
      finding.verdict = step.refused ? core::Verdict::unsafe : core::Verdict::no_verdict;
      finding.situation =
          fmt::format("{}, {}variac {:.3g} V rms", netlists::stage_words(pass.stage),
                      pass.with_lamp ? "with lamp, " : "", step.variac_vrms);
      finding.note = step.failure;
      findings.push_back(finding);
    }
  }
}

std::vector<std::string> assumptions_of(const core::Rig& rig, const RampupOptions& options) {
  std::vector<std::string> all{
      fmt::format("The variac dial is set with the line at {:.3g} V rms; bands also cover the line "
                  "from {:.3g} to {:.3g} V at the same setting, and part tolerances.",
                  rig.mains().nominal.si(), rig.mains().low.si(), rig.mains().high.si()),
      "Readings are steady: wait until they stop moving.",
      "DC is the mean a DC meter shows, AC the true rms of what rides on it.",
      "Bands add up every tolerance, each run by itself; corners of the highest node are run.",
      "Constant-current loads draw too much at low B+: low steps of the key stages read higher.",
      "Stop limits: common practice, no source; the prediction's own band where that is wider.",
  };
  if (options.stages.empty() || options.lamp) {
    all.emplace_back(
        "Lamp: general-service tungsten of the stated watts; LED and compact lamps "
        "do not work here.");
  }
  return all;
}

struct PassPlan {
  Stage stage;
  std::optional<netlists::LampInSeries> lamp;
};

}  // namespace

std::vector<double> default_ladder_vrms(const core::Rig& rig) {
  const double nominal_v = rig.mains().nominal.si();
  const double scale = nominal_v > 170.0 ? 2.0 : 1.0;
  std::vector<double> ladder;
  for (const double volts : {10.0, 20.0, 30.0, 45.0, 60.0, 75.0, 90.0, 105.0}) {
    if (volts * scale < nominal_v) {
      ladder.push_back(volts * scale);
    }
  }
  ladder.push_back(nominal_v);
  return ladder;
}

RampupResult rampup(const core::Rig& rig, const RampupOptions& options, WorkerPool& pool) {
  const std::vector<double> ladder =
      options.steps_vrms.empty() ? default_ladder_vrms(rig) : options.steps_vrms;
  const std::vector<Stage> stages =
      options.stages.empty() ? netlists::stages_of(rig) : options.stages;
  JobCounter counter(options.progress, stages.size() * (options.without_lamp ? 3 : 2));
  std::vector<std::vector<LampAdvice>> advice(stages.size());
  pool.for_each(stages.size(), [&](Engine& engine, std::size_t i) {
    try {
      advice[i] = try_lamps(engine, rig, stages[i]);
    } catch (const core::SimulationError&) {
      advice[i].clear();  // the steps of this stage will say why
    }
    counter.one_done();
  });
  std::vector<PassPlan> plans;
  for (std::size_t i = 0; i < stages.size(); ++i) {
    std::optional<netlists::LampInSeries> lamp = options.lamp;
    for (const LampAdvice& each : advice[i]) {
      if (each.suggested && !lamp) {
        lamp = netlists::LampInSeries{core::Watts(each.rated_watts), lamp_volts_for(rig)};
      }
    }
    if (lamp) {
      plans.push_back({stages[i], lamp});
    }
    if (options.without_lamp) {
      plans.push_back({stages[i], std::nullopt});
    }
  }
  RampupResult result;
  result.passes.resize(plans.size());
  pool.for_each(plans.size(), [&](Engine& engine, std::size_t k) {
    const std::size_t i = plans.size() - 1 - k;  // the last stages take longest: start them first
    result.passes[i] = PassMaker(engine, rig, plans[i].stage, plans[i].lamp).make(ladder);
    counter.one_done();
  });
  const std::vector<core::Finding> filament = filament_first_findings(rig);
  for (const RampPass& pass : result.passes) {
    add_heat_findings(pass, result.findings);
    if (filament.empty()) {
      add_failures(pass, result.findings);
    }
  }
  result.findings.insert(result.findings.end(), filament.begin(), filament.end());
  for (const std::vector<LampAdvice>& stage : advice) {
    result.lamps.insert(result.lamps.end(), stage.begin(), stage.end());
  }
  result.assumptions = assumptions_of(rig, options);
  return result;
}

}  // namespace firstglow::sim
