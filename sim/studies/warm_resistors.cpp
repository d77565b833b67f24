#include "sim/studies/warm_resistors.hpp"

#include "netlists/tungsten.hpp"

namespace firstglow::sim {

WarmList warm_resistors(const core::Rig& rig, const netlists::BuiltDeck& built,
                        const netlists::Situation& situation) {
  WarmList list;
  if (built.lamp && situation.lamp) {
    list.resistors.push_back({*built.lamp, netlists::tungsten_of(*situation.lamp)});
    list.names.emplace_back("lamp");
  }
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    const auto* heater = std::get_if<core::Heater>(&rig.parts[i].data);
    const auto* thermistor = std::get_if<core::NtcLimiter>(&rig.parts[i].data);
    const core::RectifierHeater* tube = core::rectifier_heater(rig.parts[i]);
    const auto element = built.current_of(static_cast<int>(i),
                                          tube != nullptr ? netlists::kRectifierHeaterSection : 0);
    if (heater != nullptr && element) {
      list.resistors.push_back({*element, netlists::tungsten_of(*heater)});
      list.names.push_back(rig.parts[i].designator);
    } else if (tube != nullptr && element) {
      list.resistors.push_back({*element, netlists::tungsten_of(*tube)});
      list.names.push_back(rig.parts[i].designator);
    } else if (thermistor != nullptr && element) {
      list.resistors.push_back({*element, netlists::thermistor_of(*thermistor)});
      list.names.push_back(rig.parts[i].designator);
    }
  }
  return list;
}

}  // namespace firstglow::sim
