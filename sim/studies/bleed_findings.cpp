#include "sim/studies/bleed_findings.hpp"

#include <algorithm>
#include <cmath>

#include "core/limits.hpp"

namespace firstglow::sim {
namespace {

constexpr const char* kRebound =
    "The rebound of the emptied capacitor is not in this time: see the rebound table.";

/// Highest volts to the chassis in the island of each capacitor at the start.
std::map<int, double> rail_volts(const BleedCircuit& circuit) {
  const BleedModel model = bleed_model(circuit, {}, {}, BleedStart::box);
  const std::vector<double> node_v = model.course(BleedStart::box).start_node_v();
  const std::vector<int> island = islands_of(model.network, true, false);
  std::map<int, double> highest;
  for (std::size_t node = 1; node < node_v.size(); ++node) {
    double& rail_v = highest[island[node]];
    rail_v = std::max(rail_v, std::abs(node_v[node]));
  }
  std::map<int, double> rails;
  for (const LinearBranch& capacitor : model.network.capacitors) {
    const int node = capacitor.a == 0 ? capacitor.b : capacitor.a;
    const auto start = model.start.find(capacitor.part);
    const double own_v = start == model.start.end() ? 0.0 : std::abs(start->second.largest());
    rails[capacitor.part] = std::max(own_v, highest[island[static_cast<std::size_t>(node)]]);
  }
  return rails;
}

/// Seconds allowed, and by whom.
struct Allowed {
  double seconds;
  std::string source;
};

Allowed allowed_for(const BleedLimit& limit, double rail_v, std::optional<core::Seconds> within) {
  if (within) {
    return {within->si(), "time asked for"};
  }
  if (limit.within_s) {
    return {*limit.within_s, limit.source};
  }
  const core::DischargeLimit& code = core::discharge_limit_for(core::Volts(rail_v));
  return {code.within.si(), code.source};
}

core::Finding time_finding(const CapacitorDischarge& capacitor, const Allowed& allowed,
                           const DischargeCase& intact) {
  core::Finding finding;
  finding.rule = "discharge-time";
  finding.part = capacitor.part;
  finding.quantity = "time to fall " + capacitor.limits.front().limit + " and stay there";
  finding.unit = "s";
  finding.value = capacitor.limits.front().time_s;
  finding.limit = allowed.seconds;
  finding.situation = intact.name;
  finding.limit_source = allowed.source;
  finding.note = kRebound;
  if (!finding.value) {
    finding.verdict = core::Verdict::unsafe;
    finding.note = std::string("Never: no path leads this charge away. ") + kRebound;
  } else {
    finding.verdict =
        *finding.value <= *finding.limit ? core::Verdict::safe : core::Verdict::unsafe;
  }
  return finding;
}

core::Finding rated(const char* rule, const char* quantity, const char* unit,
                    const std::string& part, double value, const std::optional<double>& limit) {
  core::Finding finding;
  finding.rule = rule;
  finding.part = part;
  finding.quantity = quantity;
  finding.unit = unit;
  finding.value = value;
  finding.limit = limit;
  finding.situation = "steady, high line, worst of all stages from the filter on";
  finding.limit_source = "rating in the record";
  if (!limit) {
    finding.note = "No rating in the record: write it there, or measure how hot the part runs.";
  } else {
    finding.verdict = value <= *limit ? core::Verdict::safe : core::Verdict::unsafe;
  }
  return finding;
}

/// A start that may be too low allows no good verdict.
void doubt(core::Finding& finding, const std::string& why) {
  if (finding.verdict == core::Verdict::safe) {
    finding.verdict = core::Verdict::no_verdict;
    finding.note = why + " " + finding.note;
  }
}

constexpr const char* kRunsFailed =
    "Some runs that look for the worst start gave no answer, so the true figure may be higher.";

}  // namespace

std::vector<core::Finding> discharge_findings(const BleedCircuit& circuit,
                                              const DischargeCase& intact, const WorstStart& start,
                                              std::optional<core::Seconds> within) {
  std::vector<core::Finding> findings;
  for (const auto& [part, rail_v] : rail_volts(circuit)) {
    const std::string& name = circuit.rig.parts[static_cast<std::size_t>(part)].designator;
    const auto found =
        std::find_if(intact.capacitors.begin(), intact.capacitors.end(),
                     [&](const CapacitorDischarge& capacitor) { return capacitor.part == name; });
    if (found == intact.capacitors.end()) {
      core::Finding finding = no_answer(intact.name, intact.failure);
      finding.rule = "discharge-time";
      finding.part = name;
      finding.quantity = "time to discharge";
      findings.push_back(std::move(finding));
      continue;
    }
    findings.push_back(
        time_finding(*found, allowed_for(circuit.limits.front(), rail_v, within), intact));
    if (!start.failures.empty()) {
      doubt(findings.back(), kRunsFailed);
    }
  }
  return findings;
}

std::vector<BleederDuty> bleeder_duties(const core::Rig& rig, const WorstStart& start) {
  std::vector<BleederDuty> duties;
  for (const auto& [part, found] : start.duty) {
    const core::Part& record = rig.parts[static_cast<std::size_t>(part)];
    const auto& resistor = std::get<core::Resistor>(record.data);
    BleederDuty duty = found;
    duty.part = record.designator;
    if (resistor.watts) {
      duty.rated_watts = resistor.watts->si();
    }
    if (resistor.working_volts) {
      duty.working_volts = resistor.working_volts->si();
    }
    duties.push_back(std::move(duty));
  }
  return duties;
}

std::vector<core::Finding> duty_findings(const std::vector<BleederDuty>& duties,
                                         const WorstStart& start) {
  std::vector<core::Finding> findings;
  for (const BleederDuty& duty : duties) {
    findings.push_back(
        rated("resistor-watts", "mean dissipation", "W", duty.part, duty.watts, duty.rated_watts));
    findings.push_back(rated("resistor-working-volts", "DC volts across, steady", "V", duty.part,
                             duty.volts_dc, duty.working_volts));
  }
  if (!start.failures.empty()) {
    for (core::Finding& finding : findings) {
      doubt(finding, kRunsFailed);
    }
  }
  return findings;
}

core::Finding no_answer(const std::string& what, const std::string& why) {
  core::Finding finding;
  finding.rule = "simulation";
  finding.quantity = "run";
  finding.situation = what;
  finding.note = why;
  finding.verdict = core::Verdict::no_verdict;
  return finding;
}

}  // namespace firstglow::sim
