#include "sim/studies/fuse_fault.hpp"

#include <fmt/format.h>

#include "core/error.hpp"
#include "core/fuse_law.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/rampup_sheet.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

constexpr double kShortOhm = 1.0;
/// A fuse that carries less than this share of its marking in the fault is not in its path.
constexpr double kInPath = 0.02;

std::string time_words(const core::OpeningWindow& window, const core::Fuse& fuse, double amps) {
  std::string words = window.latest
                          ? fmt::format("opens after {:.3g} to {:.3g} s by the gates of its class",
                                        window.earliest.si(), window.latest->si())
                          : std::string("no gate of its class promises that it opens");
  const auto law = core::fuse_law(fuse);
  const auto typical = law ? law->opens_after(core::Amps(amps)) : std::nullopt;
  return typical ? fmt::format("{}; typically {:.2g} s", words, typical->si()) : words;
}

core::Finding finding_of(const core::Part& part, const core::Fuse& fuse, double amps,
                         const std::string& situation) {
  core::Finding finding;
  finding.rule = "fuse-opens-on-short";
  finding.part = part.designator;
  finding.quantity = "current at which it surely opens, rms";
  finding.unit = "A";
  finding.value = core::surely_opens_at(fuse).si();
  finding.limit = amps;
  finding.limit_source = "what it carries in this fault; gates of [IEC-60127-2], [UL-248-14]";
  finding.situation = situation;
  finding.note = time_words(core::opening_window(fuse, core::Amps(amps)), fuse, amps);
  finding.verdict = *finding.value <= *finding.limit ? core::Verdict::safe : core::Verdict::unsafe;
  return finding;
}

netlists::Stage faulty_stage(const core::Rig& rig) {
  netlists::Stage stage = netlists::Stage::transformer;
  for (const netlists::Stage each : netlists::stages_of(rig)) {
    stage = each <= netlists::Stage::tubes_out ? each : stage;
  }
  return stage;
}

bool has_fuse(const core::Rig& rig) {
  for (const core::Part& part : rig.parts) {
    if (std::holds_alternative<core::Fuse>(part.data)) {
      return true;
    }
  }
  return false;
}

std::vector<core::Finding> findings_on(Engine& engine, const core::Rig& rig) {
  netlists::Situation situation;
  situation.stage = faulty_stage(rig);
  situation.line = rig.mains().low;
  SteadyRunner good(engine, rig);
  const ReadingSheet sheet = sheet_of(rig, good.run(situation));
  if (sheet.nodes.empty()) {
    return {};
  }
  const std::string& shorted = rig.node_name(sheet.nodes.at(highest_node(sheet)));
  situation.shunts[shorted] = kShortOhm;
  SteadyRunner runner(engine, rig);
  const SteadyRun fault = runner.run(situation);
  std::vector<core::Finding> findings;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const auto* fuse = std::get_if<core::Fuse>(&rig.parts[i].data);
    const std::vector<double>* wave = fault.cycle.part_a(static_cast<int>(i));
    if (fuse == nullptr || wave == nullptr) {
      continue;
    }
    const double amps = rms_of({fault.cycle.time_s(), *wave});
    if (amps > kInPath * fuse->rating.si()) {
      findings.push_back(finding_of(
          rig.parts[i], *fuse, amps,
          fmt::format("{} shorted to the chassis through 1 ohm, {}, line {:.3g} V rms", shorted,
                      netlists::stage_words(situation.stage), rig.mains().low.si())));
    }
  }
  return findings;
}

}  // namespace

std::vector<core::Finding> fuse_fault_findings(const core::Rig& rig, WorkerPool& pool) {
  std::vector<core::Finding> findings;
  if (!has_fuse(rig)) {
    return findings;
  }
  pool.for_each(1, [&](Engine& engine, std::size_t) {
    try {
      findings = findings_on(engine, rig);
    } catch (const core::SimulationError& error) {
      core::Finding failed;
      failed.rule = "simulation";
      failed.quantity = "run";
      failed.note = std::string("supply shorted to the chassis: ") + error.what();
      findings = {failed};
    }
  });
  return findings;
}

}  // namespace firstglow::sim
