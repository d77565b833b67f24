#include "sim/studies/heater_state.hpp"

#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/rig_run.hpp"

namespace firstglow::sim {

Conduction conduction_at(double share_of_rated_volts) {
  if (share_of_rated_volts <= kColdShare) {
    return Conduction::none;
  }
  return share_of_rated_volts < kHotShare ? Conduction::uncertain : Conduction::full;
}

std::vector<HeaterState> heater_states(const core::Rig& rig, const RigRun& run,
                                       const netlists::Situation& situation) {
  std::vector<HeaterState> states;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const core::RectifierHeater* heater = core::rectifier_heater(rig.parts[i]);
    if (heater == nullptr || !run.built().part_in[i] || !run.has_node(heater->a) ||
        !run.has_node(heater->b)) {
      continue;
    }
    HeaterState state;
    state.part = rig.parts[i].designator;
    state.heater_vrms = rms_of({run.time_s(), run.volts_between(heater->a, heater->b)});
    state.share = state.heater_vrms / heater->rated_volts.si();
    state.conduction = situation.cold_rectifiers.contains(state.part) ? Conduction::none
                                                                      : conduction_at(state.share);
    states.push_back(state);
  }
  return states;
}

}  // namespace firstglow::sim
