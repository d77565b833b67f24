#include <fmt/format.h>

#include "core/electrolytic.hpp"
#include "core/error.hpp"
#include "sim/studies/forming_judge.hpp"

namespace firstglow::sim {
namespace {

/// Verdict and note by the answer; `low_volts`: the can is not known to have had its
/// working volts.
void judge_answer(const FormingVerdict& verdict, bool low_volts, core::Finding& finding) {
  switch (verdict.answer) {
    case FormingAnswer::formed:
      finding.verdict = low_volts ? core::Verdict::no_verdict : core::Verdict::safe;
      finding.note = low_volts
                         ? "the log does not show that the can itself had 90 % of its working "
                           "volts: the limit is for those"
                         : "";
      break;
    case FormingAnswer::stuck:
      finding.verdict = core::Verdict::unsafe;
      break;
    case FormingAnswer::stop:
      // Whatever the last reading was: it is not the number that is over.
      finding.quantity = "what the readings say";
      finding.value.reset();
      finding.limit.reset();
      finding.limit_source.clear();
      finding.note = verdict.why.front();
      finding.verdict = core::Verdict::unsafe;
      break;
    case FormingAnswer::forming:
      finding.note = "not there yet: go on, watch, log";
      break;
    case FormingAnswer::too_few:
      finding.note = "too few readings";
      break;
  }
}

core::Finding log_finding(const ReformLogResult& result) {
  core::Finding finding;
  finding.rule = "leakage-after-forming";
  finding.part = result.part;
  finding.quantity = "leakage, last reading";
  finding.unit = "A";
  finding.limit = result.facts.limit_a;
  finding.limit_source = result.rule_source;
  finding.situation = to_words(result.verdict.answer);
  if (!result.verdict.judged.amps.empty()) {
    finding.value = result.verdict.judged.amps.back();
    finding.at_s = result.verdict.judged.time_s.back();
  }
  // The limit is for working volts across the can itself.
  const double lost_v = result.facts.series_ohm.value_or(0.0) * finding.value.value_or(0.0);
  const bool low_volts =
      !result.facts.supply_v || *result.facts.supply_v - lost_v < 0.9 * result.facts.rated_v;
  judge_answer(result.verdict, low_volts, finding);
  return finding;
}

/// What the part, the rule and the log say; the thermal resistance of its can.
core::CanHeat fill_facts(const core::Capacitor& can, const core::LeakageRule& rule,
                         const std::vector<core::FormingReading>& readings, FormingFacts& facts) {
  facts.rated_v = can.working_volts->si();
  facts.limit_a = rule.limit(can.value.nominal(), *can.working_volts).si();
  for (const core::FormingReading& reading : readings) {
    facts.supply_v = reading.supply ? std::optional(reading.supply->si()) : facts.supply_v;
  }
  const core::CanHeat heat =
      core::can_heat(can.history.can, can.value.nominal(), *can.working_volts);
  facts.thermal_k_per_w = heat.thermal_k_per_w;
  const core::OxideCan law =
      core::oxide_can(can.value.nominal(), *can.working_volts, core::Amps(facts.limit_a),
                      core::expected_guess(can.history.years_idle), heat);
  facts.runaway_a =
      core::runaway_leakage(law, core::Volts(facts.supply_v.value_or(facts.rated_v))).si();
  return heat;
}

std::vector<std::string> assumptions_of(const FormingFacts& facts, const core::CanHeat& heat) {
  std::vector<std::string> assumptions{
      fmt::format("A reading is good to {:.2g} % (standard deviation) or as the readings scatter, "
                  "whichever is more.",
                  100.0 * facts.accuracy),
      "Forming current falls by the field law [GUENTHERSCHULZE-1934] behind the series resistor; "
      "all curves on a wide grid are weighed, none is favoured.",
      "The step that is judged is the last one: since the supply last moved by more than 2 %.",
      "A film can fail at once after it looked well. A wall or a lid between you and the can.",
  };
  if (heat.size_assumed) {
    assumptions.push_back(
        "The size of the can is not in the record (key can): a small one "
        "is assumed, which heats more.");
  }
  return assumptions;
}

}  // namespace

ReformLogResult judge_log(const core::Rig& rig, const std::string& part,
                          const std::string& log_file, const core::LeakageRule& rule,
                          FormingFacts facts) {
  const core::Part* found = rig.find(part);
  FIRSTGLOW_REQUIRE(found != nullptr, "the part is in the rig");
  const auto* can = std::get_if<core::Capacitor>(&found->data);
  if (can == nullptr || can->dielectric != core::Dielectric::electrolytic || !can->working_volts) {
    throw core::InputError(rig.file,
                           {{found->where, fmt::format("part '{}' is no electrolytic with "
                                                       "working_volts; expected one to form; add "
                                                       "working_volts or name another part",
                                                       part)}});
  }
  ReformLogResult result;
  result.part = part;
  result.log_file = log_file;
  result.rule_words = rule.words;
  result.rule_source = rule.source;
  result.readings = core::read_forming_file(log_file);
  const core::CanHeat heat = fill_facts(*can, rule, result.readings, facts);
  result.facts = facts;
  result.verdict = judge_forming(result.readings, facts);
  result.findings.push_back(log_finding(result));
  result.assumptions = assumptions_of(facts, heat);
  return result;
}

}  // namespace firstglow::sim
