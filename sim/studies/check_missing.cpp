#include "sim/studies/check_words.hpp"

namespace firstglow::sim {
namespace {

/// Collects the empty optionals of one part after the other.
class Gaps {
 public:
  std::vector<MissingItem> of_all(const core::Rig& rig) {
    for (const core::Part& part : rig.parts) {
      part_ = part.designator;
      std::visit([&](const auto& data) { look(data); }, part.data);
    }
    return std::move(items_);
  }

 private:
  template <class Optional>
  void need(const Optional& value, const char* what, const char* answers) {
    if (!value) {
      items_.push_back(MissingItem{part_, what, answers});
    }
  }

  template <class Other>
  void look(const Other&) {}

  void look(const core::Fuse& p) {
    need(p.speed, "speed", "margins: how soon the fuse opens on a short");
    need(p.standard, "standard", "margins: how soon the fuse opens on a short");
    need(p.volts, "volts", "whether the fuse may be used on this line at all");
    need(p.melting_i2t, "melting_i2t", "inrush: whether the fuse holds the first half cycle");
  }
  void look(const core::StepStart& p) { need(p.watts, "watts", "margins: a relay that sticks"); }
  void look(const core::Variac& p) {
    need(p.max_output, "max_output", "ramp-up: whether a step is beyond the variac");
    need(p.rated_current, "rated_current", "margins: current of the variac");
  }
  void look(const core::PowerTransformer& p) {
    if (p.no_load_assumed) {
      items_.push_back(MissingItem{part_, "no_load_current, no_load_watts",
                                   "ramp-up: lamp and mains readings at the first steps rest on "
                                   "assumed figures"});
    }
    if (!p.second_no_load_volts) {
      items_.push_back(MissingItem{part_, "second_no_load_volts, second_no_load_current",
                                   "inrush: the knee of the core is a default"});
    }
    need(p.primary.rated_current, "rated_current of the primary", "margins: winding current");
    for (const core::Winding& winding : p.secondaries) {
      if (!winding.rated_current) {
        items_.push_back(MissingItem{part_, "rated_current of winding " + winding.name,
                                     "margins: winding current"});
      }
    }
  }
  void look(const core::SiliconDiode& p) {
    need(p.piv, "piv", "margins: inverse volts");
    need(p.average_current, "average_current", "margins: average current");
    need(p.repetitive_peak, "repetitive_peak", "margins: repetitive peak current");
    need(p.surge_current, "surge_current", "margins and inrush: switch-on surge");
  }
  void look(const core::VacuumRectifier& p) {
    need(p.piv, "piv", "margins: inverse volts");
    need(p.dc_current, "dc_current", "margins: DC output of the tube");
    need(p.steady_peak, "steady_peak", "margins: steady peak current of each plate");
    need(p.hot_switching_peak, "hot_switching_peak", "margins: peak when switched on hot");
    need(p.largest_capacitor, "largest_capacitor", "margins: capacitor right at the cathode");
    if (p.least_plate_ohms.empty()) {
      items_.push_back({part_, "least_plate_ohms", "margins: supply ohms with a capacitor input"});
    }
    need(p.heater.warm_up, "warm_up", "when B+ appears after the heater is switched on");
  }
  void look(const core::GasRectifier& p) {
    need(p.piv, "piv", "margins: inverse volts");
    need(p.average_current, "average_current", "margins: average current");
    need(p.steady_peak, "steady_peak", "margins: peak current");
    need(p.surge_current, "surge_current", "margins: peak at switch-on");
    need(p.heater.warm_up, "warm_up", "ramp-up: how long the filament goes before plate volts");
    need(p.first_use, "first_use", "ramp-up: how long before the very first plate volts");
  }
  void look(const core::SeleniumRectifier& p) {
    need(p.piv_per_plate, "piv_per_plate", "margins: inverse volts");
    need(p.surge_current, "surge_current", "margins: switch-on surge");
  }
  void look(const core::Resistor& p) {
    need(p.watts, "watts", "margins and bleed: dissipation");
    need(p.working_volts, "working_volts", "margins and bleed: volts across the resistor");
  }
  void look(const core::Capacitor& p) {
    need(p.working_volts, "working_volts",
         "margins: volts across the capacitor, steady and at switch-on; re-forming");
    if (p.dielectric == core::Dielectric::electrolytic) {
      need(p.surge_volts, "surge_volts",
           "margins: the switch-on peak is held against the working volts instead");
      need(p.leakage, "leakage", "re-forming: when the capacitor is formed");
      need(p.ripple_current, "ripple_current", "margins: ripple current");
    }
  }
  void look(const core::Choke& p) {
    need(p.rated_current, "rated_current", "margins: choke current");
    need(p.insulation_volts, "insulation_volts", "margins: volts from choke to chassis");
  }
  void look(const core::PowerTube& p) {
    need(p.ratings.plate_volts, "plate_volts", "margins: plate volts");
    need(p.ratings.plate_watts, "plate_watts", "margins: plate dissipation");
    if (!p.triode) {
      need(p.ratings.screen_volts, "screen_volts", "margins: screen volts");
      need(p.ratings.screen_watts, "screen_watts", "margins: screen dissipation");
    }
    if (p.driven) {
      need(p.driven->output, "driven_output",
           "margins: plate dissipation at key down rests on an assumed efficiency of 60 %");
    }
  }

  std::string part_;
  std::vector<MissingItem> items_;
};

}  // namespace

std::vector<MissingItem> missing_items(const core::Rig& rig) { return Gaps().of_all(rig); }

}  // namespace firstglow::sim
