#include "sim/studies/stacks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <mutex>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/stack_chain.hpp"
#include "sim/studies/stack_drift.hpp"
#include "sim/studies/stack_findings.hpp"

namespace firstglow::sim {
namespace {

constexpr double kAngles[] = {0.0, 45.0, 90.0, 135.0};
constexpr double kSwitchOnSeconds = 0.6;
constexpr double kResistorTolerance = 0.05;  ///< of the equalisers advised
constexpr double kDayHours = 24.0;
constexpr double kTightShare = 0.1;    ///< leakage of a tight can, of the largest: assumed
constexpr double kFormedShare = 1.15;  ///< volts the film stands when no surge volts are known
constexpr double kMegohm = 1e6;

std::string designators(const core::Rig& rig, const std::vector<std::size_t>& parts) {
  std::string text;
  for (const std::size_t part : parts) {
    text += (text.empty() ? "" : "+") + rig.parts[part].designator;
  }
  return text;
}

/// One stack with its numbers.
class StackWork {
 public:
  StackWork(const core::Rig& rig, const StackChain& chain, const core::LeakageRule& rule)
      : rig_(rig), chain_(chain) {
    for (const ChainSection& section : chain.sections) {
      values_.push_back(values_of(rig, section, rule));
      split_.push_back(values_.back().split);
    }
    answer_.top = rig.node_name(chain.sections.front().upper);
    answer_.bottom = rig.node_name(chain.sections.back().lower);
  }

  StackAnswer run(Engine& engine) {
    find_volts(engine);
    fill_sections();
    advise();
    for (std::size_t k = 0; k < chain_.sections.size(); ++k) {
      if (!chain_.sections[k].equalisers.empty()) {
        open_equaliser(k);
      }
    }
    return std::move(answer_);
  }

  [[nodiscard]] const StackAnswer& answer() const { return answer_; }

 private:
  [[nodiscard]] std::vector<double> stack_volts(const RigRun& run) const {
    return run.volts_between(chain_.sections.front().upper, chain_.sections.back().lower);
  }

  void find_volts(Engine& engine) {
    netlists::Situation situation;
    situation.line = rig_.mains().high;
    const std::vector<netlists::Stage> stages = netlists::stages_of(rig_);
    const auto first = std::find_if(stages.begin(), stages.end(), [](netlists::Stage stage) {
      return stage >= netlists::Stage::filter;
    });
    situation.stage = first == stages.end() ? stages.back() : *first;
    SteadyRunner runner(engine, rig_);
    const SteadyRun steady = runner.run(situation);
    answer_.supply_v = mean_of({steady.cycle.time_s(), stack_volts(steady.cycle)});
    answer_.peak_v = highest_of(stack_volts(steady.cycle));
    situation.step_relay = netlists::StepRelay::timed;
    TransientPlan plan;
    plan.stop_s = switch_on_seconds(rig_, kSwitchOnSeconds);
    plan.with_currents = false;
    for (const double angle_deg : kAngles) {
      situation.closing_angle_deg = angle_deg;
      const RigRun run = run_transient(engine, rig_, situation, plan);
      answer_.peak_v = std::max(answer_.peak_v, highest_of(stack_volts(run)));
    }
  }

  void fill_sections() {
    std::vector<core::StackSection> nominal = split_;
    double elastance = 0.0;
    for (std::size_t k = 0; k < nominal.size(); ++k) {
      elastance += 1.0 / values_[k].nominal_f;
      if (values_[k].equaliser_ohm) {
        nominal[k].equaliser_low = core::Ohms(*values_[k].equaliser_ohm);
        nominal[k].equaliser_high = nominal[k].equaliser_low;
      }
    }
    const auto settled = core::settled_shares(nominal, core::Volts(answer_.supply_v));
    for (std::size_t k = 0; k < values_.size(); ++k) {
      SectionAnswer section;
      section.cans = designators(rig_, chain_.sections[k].cans);
      section.equalisers = designators(rig_, chain_.sections[k].equalisers);
      section.working_v = values_[k].working_v;
      section.surge_v = values_[k].surge_v;
      section.equaliser_ohm = values_[k].equaliser_ohm;
      section.leakage_a = split_[k].leakage.si();
      section.leakage_assumed = values_[k].leakage_assumed;
      section.nominal_v =
          settled ? settled->at(k).si() : answer_.supply_v / values_[k].nominal_f / elastance;
      section.fast_v = core::fast_share(split_, k, core::Volts(answer_.peak_v)).si();
      if (const auto slow = core::slow_share(split_, k, core::Volts(answer_.supply_v))) {
        section.slow_v = slow->si();
      }
      answer_.sections.push_back(section);
    }
  }

  void advise() {
    std::optional<double> lowest_v;
    double leak_a = 0.0;
    for (const SectionValues& values : values_) {
      if (!values.working_v) {
        return;
      }
      lowest_v = std::min(lowest_v.value_or(*values.working_v), *values.working_v);
      leak_a = std::max(leak_a, values.split.leakage.si());
    }
    answer_.tenfold_ohm = leak_a > 0.0 ? *lowest_v / (10.0 * leak_a) : 100.0 * kMegohm;
    answer_.hundred_ohm = 100.0 * *lowest_v;
    const auto largest = core::largest_equaliser(split_, core::Volts(answer_.supply_v),
                                                 core::Volts(*lowest_v), kResistorTolerance);
    if (largest) {
      answer_.largest_ohm = largest->si();
      const core::Ohms chosen = core::e24_below(*largest);
      answer_.advised_ohm = chosen.si();
      answer_.duty = core::equaliser_duty(chosen, core::Volts(*lowest_v));
    }
  }

  [[nodiscard]] DriftSection drift_section(std::size_t k, std::size_t open) const {
    const SectionValues& values = values_[k];
    DriftSection section;
    section.capacitance_f = values.nominal_f;
    section.rated_v = values.working_v.value_or(answer_.supply_v);
    section.formed_v = values.surge_v.value_or(kFormedShare * section.rated_v);
    section.leakage_a = values.split.leakage.si() * (k == open ? kTightShare : 1.0);
    section.equaliser_ohm = values.equaliser_ohm;
    return section;
  }

  void open_equaliser(std::size_t open) {
    std::vector<DriftSection> sections;
    std::vector<double> start_v;
    for (std::size_t k = 0; k < values_.size(); ++k) {
      sections.push_back(drift_section(k, open));
      start_v.push_back(answer_.sections[k].nominal_v);
    }
    // Of several equalisers across one section the strongest is taken out.
    const std::vector<std::size_t>& resistors = chain_.sections[open].equalisers;
    const auto ohms = [&](std::size_t part) {
      return std::get<core::Resistor>(rig_.parts[part].data).value.nominal().si();
    };
    const std::size_t out =
        *std::min_element(resistors.begin(), resistors.end(),
                          [&](std::size_t a, std::size_t b) { return ohms(a) < ohms(b); });
    sections[open].equaliser_ohm.reset();
    if (resistors.size() > 1) {
      sections[open].equaliser_ohm = 1.0 / (1.0 / *values_[open].equaliser_ohm - 1.0 / ohms(out));
    }
    const std::vector<DriftPoint> points = stack_drift(sections, start_v, kDayHours);
    OpenEqualiser found;
    found.part = rig_.parts[out].designator;
    found.cans = answer_.sections[open].cans;
    found.after_hour_v = volts_at(points, open, 3600.0);
    found.after_day_v = points.back().volts[open];
    if (values_[open].working_v) {
      found.over_working_s = first_above(points, open, *values_[open].working_v);
    }
    if (values_[open].surge_v) {
      found.over_surge_s = first_above(points, open, *values_[open].surge_v);
    }
    Trace trace{fmt::format("{} open: {}", found.part, found.cans), "V", {}, {}};
    for (const DriftPoint& point : points) {
      trace.time_s.push_back(point.time_s);
      trace.value.push_back(point.volts[open]);
    }
    answer_.traces.push_back(std::move(trace));
    answer_.open.push_back(found);
  }

  const core::Rig& rig_;
  const StackChain& chain_;
  std::vector<SectionValues> values_;
  std::vector<core::StackSection> split_;
  StackAnswer answer_;
};

}  // namespace

StacksResult stacks(const core::Rig& rig, const StacksOptions& options, WorkerPool& pool) {
  StacksResult result;
  const std::vector<StackChain> chains = stack_chains(rig);
  result.stacks.resize(chains.size());
  std::mutex mutex;
  int done = 0;
  pool.for_each(chains.size(), [&](Engine& engine, std::size_t i) {
    StackWork work(rig, chains[i], *options.rule);
    try {
      result.stacks[i] = work.run(engine);
    } catch (const core::SimulationError& error) {
      result.stacks[i] = StackAnswer();
      result.stacks[i].top = rig.node_name(chains[i].sections.front().upper);
      result.stacks[i].bottom = rig.node_name(chains[i].sections.back().lower);
      result.stacks[i].failure = error.what();
    }
    const std::scoped_lock lock(mutex);
    if (options.progress) {
      options.progress(++done, static_cast<int>(chains.size()));
    }
  });
  result.findings = stack_findings(rig, result.stacks);
  result.assumptions = {
      "Volts: high line, nothing drawing, nominal parts; the peak is the highest of a cold "
      "switch-on at four closing angles.",
      "At once: the can looked at has the low end of its capacitance, all others the high end. "
      "After hours: it leaks nothing and has the high end of its equaliser, all others leak all "
      "they may and have the low end.",
      fmt::format("Leakage from the record; where there is none, the limit {} {}.",
                  options.rule->words, options.rule->source),
      "Equaliser advised: one value for all sections, 5 %, the next preferred value below the "
      "largest that keeps the lowest rated can after hours. Watts and volts at rated volts of "
      "the can; a resistor is used to half its watts and 80 % of the volts of its size "
      "[MIL-R-10509].",
      "One equaliser open: its own can is tight (a tenth of the leakage: assumed), the others "
      "leak all they may, film at surge volts, 20 C, a day.",
  };
  return result;
}

}  // namespace firstglow::sim
