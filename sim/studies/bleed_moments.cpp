#include "sim/studies/bleed_moments.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "sim/envelope/waveform_figures.hpp"

namespace firstglow::sim {
namespace {

template <class Kind>
const Kind* part_as(const core::Rig& rig, int part) {
  return std::get_if<Kind>(&rig.parts[static_cast<std::size_t>(part)].data);
}

std::map<int, std::vector<double>> capacitor_waves(const core::Rig& rig, const RigRun& run) {
  std::map<int, std::vector<double>> waves;
  for (int i = 0; i < static_cast<int>(rig.parts.size()); ++i) {
    const auto* capacitor = part_as<core::Capacitor>(rig, i);
    if (capacitor != nullptr && run.built().part_in[static_cast<std::size_t>(i)]) {
      waves[i] = run.volts_between(capacitor->plus, capacitor->minus);
    }
  }
  return waves;
}

}  // namespace

std::map<int, double> peak_times_of(const core::Rig& rig, const RigRun& run) {
  std::map<int, double> times;
  for (const auto& [part, volts] : capacitor_waves(rig, run)) {
    times[part] = run.time_s()[index_of_peak(volts)];
  }
  return times;
}

std::vector<ChargeMoment> moments_of(const core::Rig& rig, const RigRun& run) {
  const std::map<int, std::vector<double>> waves = capacitor_waves(rig, run);
  std::set<std::size_t> when;
  for (const auto& [part, volts] : waves) {
    when.insert(index_of_peak(volts));
  }
  std::vector<ChargeMoment> moments;
  for (const std::size_t index : when) {
    ChargeMoment& moment = moments.emplace_back();
    for (const auto& [part, volts] : waves) {
      moment[part] = volts[index];
    }
  }
  return moments;
}

std::map<int, double> peaks_of(const std::vector<ChargeMoment>& moments) {
  std::map<int, double> peaks;
  for (const ChargeMoment& moment : moments) {
    for (const auto& [part, volts] : moment) {
      peaks[part] = std::max(peaks[part], std::abs(volts));
    }
  }
  return peaks;
}

bool bleeds(const core::Resistor& resistor) {
  return resistor.role == core::ResistorRole::bleeder ||
         resistor.role == core::ResistorRole::equaliser;
}

std::map<int, BleederDuty> duties_of(const core::Rig& rig, const RigRun& run) {
  std::map<int, BleederDuty> all;
  for (int i = 0; i < static_cast<int>(rig.parts.size()); ++i) {
    const auto* resistor = part_as<core::Resistor>(rig, i);
    const std::vector<double>* amps = run.part_a(i);
    if (resistor == nullptr || !bleeds(*resistor) || amps == nullptr) {
      continue;
    }
    BleederDuty duty;
    const std::vector<double> volts = run.volts_between(resistor->a, resistor->b);
    duty.volts_dc = std::abs(mean_of({run.time_s(), volts}));
    duty.watts = mean_product_of(run.time_s(), volts, *amps);
    all[i] = duty;
  }
  return all;
}

}  // namespace firstglow::sim
