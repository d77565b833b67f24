#include "sim/studies/clock_curve.hpp"

#include <cmath>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/bleed_cases.hpp"
#include "sim/studies/linear_discharge.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {
namespace {

constexpr double kProbeFarad = 1e-9;
constexpr double kProbeOhm = 1e3;

int network_node(const netlists::BuiltDeck& built, const LinearNetwork& network,
                 core::NodeIndex node) {
  const auto deck_node = built.node_of.at(static_cast<std::size_t>(node));
  return deck_node ? network.node_of.at(static_cast<std::size_t>(*deck_node)) : -1;
}

void apply_factors(const core::Rig& rig, const std::map<std::string, double>& factor,
                   std::vector<LinearBranch>& branches) {
  for (LinearBranch& branch : branches) {
    if (branch.part < 0) {
      continue;
    }
    const auto found = factor.find(rig.parts[static_cast<std::size_t>(branch.part)].designator);
    if (found != factor.end()) {
      branch.value *= found->second;
    }
  }
}

}  // namespace

ClockCurve::ClockCurve(Engine& engine, const core::Rig& rig, const MeterPlace& place,
                       const std::string& open_part)
    : rig_(rig), place_(place), open_part_(open_part) {
  netlists::Situation situation;
  situation.stage = netlists::Stage::tubes_out;
  if (!open_part.empty()) {
    situation.lifted.insert(open_part);
  }
  SteadyRunner runner(engine, rig);
  const SteadyRun run = runner.run(situation);
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const auto* can = std::get_if<core::Capacitor>(&rig.parts[i].data);
    if (can != nullptr && run.cycle.has_node(can->plus) && run.cycle.has_node(can->minus)) {
      start_[static_cast<int>(i)] =
          mean_of({run.cycle.time_s(), run.cycle.volts_between(can->plus, can->minus)});
    }
  }
  if (!run.cycle.has_node(place.plus) || !run.cycle.has_node(place.minus)) {
    throw core::SimulationError(
        "the meter is clipped to a node that is not in the circuit with "
        "all tubes out",
        {});
  }
  start_v_ = mean_of({run.cycle.time_s(), run.cycle.volts_between(place.plus, place.minus)});
}

FallShape ClockCurve::fall(const std::map<std::string, double>& factor,
                           const Corner& corner) const {
  std::set<std::string> lifted;
  if (!open_part_.empty()) {
    lifted.insert(open_part_);
  }
  const netlists::BuiltDeck built = netlists::build_deck(rig_, bleed_situation(lifted, corner));
  LinearNetwork network = linear_network(built);
  apply_factors(rig_, factor, network.resistors);
  apply_factors(rig_, factor, network.capacitors);
  const int plus = network_node(built, network, place_.plus);
  const int minus = network_node(built, network, place_.minus);
  FIRSTGLOW_REQUIRE(plus >= 0 && minus >= 0, "the meter is in the discharging network");
  const int probe = network.node_count++;
  network.resistors.push_back({plus, probe, kProbeOhm, -1});
  network.capacitors.push_back({probe, minus, kProbeFarad, -1});
  if (place_.meter_ohm > 0.0) {
    network.resistors.push_back({plus, minus, place_.meter_ohm, -1});
  }
  std::vector<double> start;
  for (const LinearBranch& capacitor : network.capacitors) {
    const auto known = start_.find(capacitor.part);
    start.push_back(known == start_.end() ? 0.0 : known->second);
  }
  const std::size_t probe_state = start.size() - 1;
  start[probe_state] = start_v_;
  const LinearDischarge discharge(network);
  start.resize(discharge.state_count(), 0.0);
  const LinearDischarge::Course course = discharge.from(start);
  return [course, probe_state](const std::vector<double>& time_s) {
    std::vector<double> volts;
    volts.reserve(time_s.size());
    for (const double at_s : time_s) {
      volts.push_back(std::abs(course.state_at(probe_state, at_s)));
    }
    return volts;
  };
}

}  // namespace firstglow::sim
