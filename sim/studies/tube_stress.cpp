#include "sim/studies/tube_stress.hpp"

#include <algorithm>

#include "sim/envelope/waveform_figures.hpp"

namespace firstglow::sim {
namespace {

constexpr int kPlate = 0, kScreen = 1, kKey = 3;
constexpr double kUsualEfficiency = 0.6;
/// A tube whose screen draws less than this counts as cut off [A]: the limit for screens without
/// current holds then.
constexpr double kNoScreenCurrentA = 0.2e-3;

/// Means of one electrode over the cycle.
struct Electrode {
  double volts = 0.0, amps = 0.0, watts = 0.0;
};

Electrode electrode_of(const RigRun& run, int part, int section, core::NodeIndex node,
                       core::NodeIndex cathode) {
  Electrode found;
  if (!run.has_node(node) || !run.has_node(cathode)) {
    return found;
  }
  const std::vector<double> volts = run.volts_between(node, cathode);
  found.volts = mean_of({run.time_s(), volts});
  if (const std::vector<double>* amps = run.part_a(part, section)) {
    found.amps = mean_of({run.time_s(), *amps});
    found.watts = mean_product_of(run.time_s(), volts, *amps);
  }
  return found;
}

/// Share of the plate's input that is put out.
double efficiency_of(const core::PowerTube& tube) {
  const core::DrivenPoint& point = *tube.driven;
  if (!point.output) {
    return kUsualEfficiency;
  }
  const double input_w = point.plate.si() * point.plate_current.si();
  return std::clamp(point.output->si() / input_w, 0.0, 1.0);
}

double key_volts(const RigRun& run, int part) {
  const std::vector<double>* amps = run.part_a(part, kKey);
  const auto role = run.built().tubes.find(part);
  const bool open =
      role != run.built().tubes.end() && role->second == netlists::TubeRole::keyed_off;
  return amps != nullptr && open ? highest_of(*amps) * netlists::kOpenKeyOhm : 0.0;
}

}  // namespace

bool is_floor(StressRule rule) {
  return rule == StressRule::vr_tube_least_current || rule == StressRule::vr_tube_strike;
}

std::vector<Stress> stresses_of(const core::VrTube& tube, const RigRun& run, int part) {
  const std::vector<double>* amps = run.part_a(part);
  if (amps == nullptr || !run.has_node(tube.plus) || !run.has_node(tube.minus)) {
    return {};
  }
  const bool lit = run.built().lit.contains(part);
  const double dark_v =
      run.dark_v(part).value_or(highest_of(run.volts_between(tube.plus, tube.minus)));
  return {{part, 0, StressRule::vr_tube_current, lit ? highest_of(*amps) : 0.0, 0.0},
          {part, 0, StressRule::vr_tube_least_current, lit ? -lowest_of(*amps) : 0.0, 0.0},
          {part, 0, StressRule::vr_tube_strike, -dark_v, 0.0}};
}

std::vector<Stress> stresses_of(const core::PowerTube& tube, const RigRun& run, int part) {
  const auto found = run.built().tubes.find(part);
  if (found == run.built().tubes.end()) {
    return {};
  }
  const netlists::TubeRole role = found->second;
  const Electrode plate = electrode_of(run, part, kPlate, tube.plate, tube.cathode);
  const Electrode screen = electrode_of(run, part, kScreen, tube.screen, tube.cathode);
  double plate_w = plate.watts;
  if (role == netlists::TubeRole::driven) {
    plate_w *= 1.0 - efficiency_of(tube);
  }
  const bool cut_off = screen.amps < kNoScreenCurrentA * tube.count;
  const double n = tube.count;
  return {{part, 0, StressRule::tube_plate_watts, plate_w / n, 0.0},
          {part, 0, StressRule::tube_screen_watts, screen.watts / n, 0.0},
          {part, 0, StressRule::tube_plate_volts, plate.volts, 0.0},
          {part, 0, StressRule::tube_screen_volts, cut_off ? 0.0 : screen.volts, 0.0},
          {part, 0, StressRule::tube_screen_volts_cut_off, cut_off ? screen.volts : 0.0, 0.0},
          {part, 0, StressRule::tube_key_volts, key_volts(run, part), 0.0}};
}

}  // namespace firstglow::sim
