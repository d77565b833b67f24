#include "sim/studies/start_outcome.hpp"

namespace firstglow::sim {
namespace {

std::vector<double> figures_of(const StartOutcome& outcome, const StartOutcome& nominal) {
  std::vector<double> figures;
  for (const auto& [part, volts] : nominal.peak_v) {
    const auto found = outcome.peak_v.find(part);
    figures.push_back(found == outcome.peak_v.end() ? volts : found->second);
  }
  for (const auto& [part, duty] : nominal.duty) {
    const auto found = outcome.duty.find(part);
    const BleederDuty& here = found == outcome.duty.end() ? duty : found->second;
    figures.push_back(here.volts_dc);
    figures.push_back(here.watts);
  }
  return figures;
}

}  // namespace

std::vector<ChargeMoment> raised(std::vector<ChargeMoment> moments) {
  for (ChargeMoment& moment : moments) {
    for (auto& [part, volts] : moment) {
      volts *= 1.0 + kStartError;
    }
  }
  return moments;
}

std::set<Corner> combined_corners(const std::vector<std::string>& parts,
                                  const std::vector<StartOutcome>& outcomes) {
  if (!outcomes.front().failure.empty()) {
    return {};
  }
  std::vector<std::vector<double>> figures;
  figures.reserve(outcomes.size());
  for (const StartOutcome& outcome : outcomes) {
    figures.push_back(figures_of(outcome, outcomes.front()));
  }
  return worst_corners(Sensitivity(parts, std::move(figures)));
}

}  // namespace firstglow::sim
