#include <algorithm>
#include <cmath>
#include <numbers>

#include "netlists/transformer_model.hpp"
#include "netlists/tungsten.hpp"
#include "sim/studies/check_words.hpp"

namespace firstglow::sim {
namespace {

bool has_capacitor_at(const core::Rig& rig, core::NodeIndex node) {
  return std::any_of(rig.parts.begin(), rig.parts.end(), [&](const core::Part& part) {
    const auto* capacitor = std::get_if<core::Capacitor>(&part.data);
    return capacitor != nullptr && (capacitor->plus == node || capacitor->minus == node);
  });
}

std::ptrdiff_t diodes_at(const core::Rig& rig, core::NodeIndex node) {
  return std::count_if(rig.parts.begin(), rig.parts.end(), [&](const core::Part& part) {
    const auto* diode = std::get_if<core::SiliconDiode>(&part.data);
    return diode != nullptr && (diode->anode == node || diode->cathode == node);
  });
}

/// The ohms a supply sees behind a choke with nothing drawing: the reading that no rectifier
/// shunts, the higher of the two directions.
std::optional<double> load_ohm(const std::vector<OhmsReading>& ohms, core::NodeIndex node) {
  if (node <= core::kChassis) {
    return std::nullopt;
  }
  const OhmsReading& reading = ohms[static_cast<std::size_t>(node) - 1];
  if (!reading.red_ohm || !reading.black_ohm) {
    return std::nullopt;
  }
  return std::max(*reading.red_ohm, *reading.black_ohm);
}

class Figures {
 public:
  Figures(const core::Rig& rig, const std::vector<OhmsReading>& ohms) : rig_(rig), ohms_(ohms) {}

  std::vector<DerivedFigure> of_all() {
    for (const core::Part& part : rig_.parts) {
      part_ = &part;
      std::visit([&](const auto& data) { add(data); }, part.data);
    }
    return std::move(figures_);
  }

 private:
  void put(std::string name, double value, std::string unit, std::string how,
           bool assumed = false) {
    figures_.push_back(DerivedFigure{part_->designator, std::move(name), value, std::move(unit),
                                     std::move(how), assumed});
  }

  template <class Other>
  void add(const Other&) {}

  void add(const core::PowerTransformer& transformer) {
    const netlists::TransformerCore core =
        netlists::transformer_core(transformer, rig_.mains().frequency);
    const bool assumed = transformer.no_load_assumed;
    const std::string how =
        assumed ? "no-load readings were assumed, not measured" : "from the no-load readings";
    if (transformer.no_load_current && transformer.no_load_watts) {
      put("no-load current", transformer.no_load_current->si(), "A",
          assumed ? "assumed: nothing in the record" : "as measured", assumed);
      put("no-load watts", transformer.no_load_watts->si(), "W",
          assumed ? "assumed: nothing in the record" : "as measured", assumed);
    }
    put("core loss resistance", core.loss_ohm, "ohm", "E^2 / P_core, " + how, assumed);
    put("magnetising inductance", core.magnetising_h, "H", "E^2 / (2 pi f Q), " + how, assumed);
    for (const core::Winding& winding : transformer.secondaries) {
      double volts = 0.0;
      for (const core::RmsVolts& section : winding.section_volts) {
        volts += section.si();
      }
      put("turns ratio, " + winding.name + " (whole winding) to primary", volts / core.emf_v, "1",
          "stated volts over the primary volts less the drop of the no-load current", assumed);
    }
  }

  void add(const core::Heater& heater) {
    if (heater.hot > heater.cold) {
      const netlists::TungstenParameters wire = netlists::tungsten_of(heater);
      put("temperature at rated volts", wire.hot_k, "K",
          "300 K (hot ohms / cold ohms)^(1 / 1.2), all heaters taken as one");
      put("current when cold over current when hot", heater.hot / heater.cold, "1",
          "hot ohms over cold ohms");
    }
  }

  void add(const core::SeriesLamp& lamp) {
    const netlists::TungstenParameters wire =
        netlists::tungsten_of(netlists::LampInSeries{lamp.rated_watts, lamp.rated_volts});
    put("cold resistance", wire.cold_ohm, "ohm", "tungsten lamp of this rating", true);
    put("hot resistance at rated volts", wire.hot_ohm(), "ohm", "V^2 / P");
  }

  void add(const core::Capacitor& capacitor) {
    if (capacitor.esr_assumed) {
      put("ESR", capacitor.esr.si(), "ohm",
          "assumed: none in the record (common practice, no source)", true);
    }
    if (capacitor.working_volts) {
      put("stored energy at working volts, highest capacitance",
          core::stored_energy(capacitor.value.high(), *capacitor.working_volts).si(), "J",
          "C V^2 / 2");
    }
  }

  void add(const core::VrTube& tube) {
    put("rise of its volts per ampere in the window",
        tube.regulation.si() / (tube.most.si() - tube.least.si()), "ohm",
        "regulation over the width of the current window");
  }

  void add(const core::PowerTube& tube) {
    const std::optional<core::Volts>& screen = tube.ratings.screen_volts;
    const std::optional<core::Volts>& plate = tube.ratings.plate_volts;
    const std::optional<core::Volts>& control = tube.triode ? plate : screen;
    if (control) {
      put(tube.triode ? "grid volts that cut it off at its largest plate volts"
                      : "grid volts that cut it off at its largest screen volts",
          core::cutoff_grid_v(tube.law, control->si()), "V",
          "3/2-power law through its published point; measure at least this on the socket, tube "
          "out, before plate and screen volts",
          true);
      put("space current with no bias at the same volts",
          tube.count * core::space_current_a(tube.law, 0.0, control->si()), "A",
          "the same law at 0 V on the grid, all its tubes, no supply resistance", true);
    }
  }

  void add(const core::Choke& choke) {
    for (const auto& [input, output] : {std::pair(choke.a, choke.b), std::pair(choke.b, choke.a)}) {
      const bool choke_input = input > core::kChassis && diodes_at(rig_, input) >= 2 &&
                               !has_capacitor_at(rig_, input) && has_capacitor_at(rig_, output);
      const std::optional<double> ohm = load_ohm(ohms_, output);
      if (choke_input && ohm) {
        put("critical inductance with tubes out",
            *ohm / (6.0 * std::numbers::pi * rig_.mains().frequency.si()), "H",
            "R / (6 pi f) with R the ohms behind the choke, full wave [TERMAN]; with less, the "
            "volts climb from the average toward the peak of the winding");
      }
    }
  }

  const core::Rig& rig_;
  const std::vector<OhmsReading>& ohms_;
  const core::Part* part_ = nullptr;
  std::vector<DerivedFigure> figures_;
};

}  // namespace

std::vector<DerivedFigure> derived_figures(const core::Rig& rig,
                                           const std::vector<OhmsReading>& ohms) {
  return Figures(rig, ohms).of_all();
}

}  // namespace firstglow::sim
