#include "sim/studies/age.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

constexpr double kLossHertz = 120.0;
constexpr double kWarmRise = 10.0;  ///< of a can by ripple [ELCAP-LIFE], upper end for 85 C parts
constexpr double kLeastHours = 10000.0;
constexpr double kHourSeconds = 3600.0;

AgeRow row_of(const core::Part& part, const core::Capacitor& can) {
  AgeRow row;
  row.part = part.designator;
  row.capacitance_f = can.value.nominal().si();
  row.esr_ohm = can.esr.si();
  row.esr_assumed = can.esr_assumed;
  if (can.working_volts) {
    row.working_v = can.working_volts->si();
  }
  if (can.ripple_current) {
    row.rated_ripple_a = can.ripple_current->si();
  }
  row.life = can.history.life;
  row.years_old = can.history.years_old;
  row.years_idle = can.history.years_idle;
  row.can = core::can_heat(can.history.can, can.value.nominal(),
                           can.working_volts.value_or(core::Volts(450.0)));
  row.shelf = core::shelf_advice(can.history.years_idle);
  if (can.working_volts) {
    row.rules = core::conditioning_rules(*can.working_volts, can.history.years_idle);
  }
  return row;
}

void look_at(const core::Rig& rig, const SteadyRun& run, std::vector<AgeRow>& rows) {
  for (AgeRow& row : rows) {
    const core::Part& part = *rig.find(row.part);
    const auto& can = std::get<core::Capacitor>(part.data);
    const std::vector<double>* amps = run.cycle.part_a(static_cast<int>(&part - &rig.parts[0]));
    if (amps == nullptr) {
      continue;
    }
    const std::vector<double>& time_s = run.cycle.time_s();
    row.ripple_a = std::max(row.ripple_a, ac_rms_of({time_s, *amps}));
    row.volts =
        std::max(row.volts, mean_of({time_s, run.cycle.volts_between(can.plus, can.minus)}));
  }
}

void fill_life(const core::Rig& rig, double air_k, AgeRow& row) {
  const auto& can = std::get<core::Capacitor>(rig.find(row.part)->data);
  row.heat_w = row.ripple_a * row.ripple_a * row.esr_ohm +
               row.volts * can.leakage.value_or(core::Amps()).si();
  row.rise_k = row.heat_w * row.can.thermal_k_per_w;
  if (!row.life) {
    return;
  }
  row.ten_degree_h =
      core::ten_degree_life(*row.life, core::Kelvin(air_k + row.rise_k)).si() / kHourSeconds;
  if (row.working_v && row.rated_ripple_a) {
    const core::CapacitorDuty duty{core::Kelvin(air_k), core::Amps(row.ripple_a),
                                   core::Amps(*row.rated_ripple_a), core::Volts(row.volts),
                                   core::Volts(*row.working_v)};
    if (const auto factors = core::maker_life_factors(*row.life, duty)) {
      row.maker_h = factors->product() * row.life->life.si() / kHourSeconds;
    }
  }
}

core::Finding finding_of(const AgeRow& row, const char* rule, const char* quantity,
                         const char* unit, std::optional<double> value, std::optional<double> limit,
                         const char* source) {
  core::Finding finding;
  finding.rule = rule;
  finding.part = row.part;
  finding.quantity = quantity;
  finding.unit = unit;
  finding.value = value;
  finding.limit = limit;
  finding.limit_source = source;
  if (value && limit) {
    finding.verdict = *value <= *limit ? core::Verdict::safe : core::Verdict::unsafe;
  }
  return finding;
}

void add_findings(const AgeRow& row, std::vector<core::Finding>& findings) {
  core::Finding ripple = finding_of(row, "capacitor-ripple-current", "ripple amps, rms", "A",
                                    row.ripple_a, row.rated_ripple_a, "rating in the record");
  ripple.note = row.rated_ripple_a ? "" : "ripple_current is not in the record";
  findings.push_back(ripple);
  core::Finding warm = finding_of(row, "capacitor-rise", "rise of the can above the air", "K",
                                  row.rise_k, kWarmRise, "[ELCAP-LIFE] upper end");
  if (row.can.size_assumed) {
    warm.verdict = core::Verdict::no_verdict;
    warm.note = "can (its size) is not in the record; a small one is assumed";
  } else if (row.esr_assumed) {
    warm.verdict = core::Verdict::no_verdict;
    warm.note = "esr is not in the record: measure it";
  }
  findings.push_back(warm);
  const double new_ohm = kUsualLoss / (2.0 * std::numbers::pi * kLossHertz * row.capacitance_f);
  core::Finding worn =
      finding_of(row, "capacitor-esr", "esr at 120 Hz", "ohm",
                 row.esr_assumed ? std::nullopt : std::optional(row.esr_ohm), kWornFactor * new_ohm,
                 "twice that of tan d 0.15 when new: common practice, no source");
  worn.note = row.esr_assumed ? "esr is not in the record: measure it" : "";
  findings.push_back(worn);
  const std::optional<double> hours = row.maker_h ? row.maker_h : row.ten_degree_h;
  core::Finding life = finding_of(row, "capacitor-life", "life at this duty", "h", hours,
                                  kLeastHours, "10 000 h: common practice, no source");
  life.limit_is_least = true;
  if (hours) {
    life.verdict = *hours >= kLeastHours ? core::Verdict::safe : core::Verdict::unsafe;
  } else {
    life.note = "life is not in the record";
  }
  findings.push_back(life);
  core::Finding years =
      finding_of(row, "capacitor-shelf", "years without volts", "years",
                 row.years_idle ? std::optional<double>(*row.years_idle) : std::nullopt, 3.0,
                 "[CDE-1993] no treatment needed");
  years.note = row.shelf.words;
  findings.push_back(years);
}

std::vector<std::string> assumptions_of(const AgeOptions& options) {
  return {
      fmt::format(
          "Air around the cans: {:.3g} C (--air); high line, nominal parts, the worst stage "
          "from the filter on.",
          options.air_k - 273.15),
      "Heat: ripple squared times esr (at room temperature, as measured or assumed), volts times "
      "leakage; whole surface of the can, 10 W per square metre and kelvin: assumed.",
      "Life: ten-degree rule at the can's temperature; maker's form with ripple and volts "
      "[ELCAP-LIFE]. It speaks of new parts of known make; an old part has used an unknown share "
      "of it.",
      "Limits of esr (twice new), rise (10 K) and life (10 000 h) are common practice.",
  };
}

}  // namespace

AgeResult age(const core::Rig& rig, const AgeOptions& options, WorkerPool& pool) {
  AgeResult result;
  result.air_k = options.air_k;
  for (const core::Part& part : rig.parts) {
    const auto* can = std::get_if<core::Capacitor>(&part.data);
    if (can != nullptr && can->dielectric == core::Dielectric::electrolytic) {
      result.rows.push_back(row_of(part, *can));
    }
  }
  std::vector<netlists::Stage> stages = netlists::stages_of(rig);
  std::erase_if(stages, [](netlists::Stage stage) { return stage < netlists::Stage::filter; });
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    SteadyRunner runner(engine, rig);
    netlists::Situation situation;
    situation.line = rig.mains().high;
    try {
      for (std::size_t k = 0; k < stages.size(); ++k) {
        situation.stage = stages[k];
        look_at(rig, runner.run(situation), result.rows);
        if (options.progress) {
          options.progress(static_cast<int>(k + 1), static_cast<int>(stages.size()));
        }
      }
    } catch (const core::SimulationError& error) {
      result.failure = error.what();
    }
  });
  for (AgeRow& row : result.rows) {
    fill_life(rig, options.air_k, row);
    add_findings(row, result.findings);
  }
  if (!result.failure.empty()) {
    core::Finding failed;
    failed.rule = "simulation";
    failed.quantity = "steady states";
    failed.note = result.failure;
    result.findings = {failed};
  }
  result.assumptions = assumptions_of(options);
  return result;
}

}  // namespace firstglow::sim
