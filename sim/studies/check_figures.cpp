#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/fuse_law.hpp"
#include "netlists/coils.hpp"
#include "netlists/thermistor.hpp"
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
  std::ptrdiff_t count = 0;
  for (const core::Part& part : rig.parts) {
    for (const core::RectifierPath& path : core::rectifier_paths(part)) {
      count += path.anode == node || path.cathode == node ? 1 : 0;
    }
  }
  return count;
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

/// Open-circuit rms volts of the winding section that the rectifiers at `node` are fed from: the
/// section between an anode's winding end and its neighbour on the winding (a half of a tapped
/// winding), or the whole winding when both its ends feed the node (bridge).
std::optional<double> winding_vrms(const core::Rig& rig, core::NodeIndex node) {
  std::optional<double> volts;
  for (const core::Part& part : rig.parts) {
    const auto* transformer = std::get_if<core::PowerTransformer>(&part.data);
    if (transformer == nullptr) {
      continue;
    }
    for (const core::Winding& winding : transformer->secondaries) {
      const auto feeds = [&](core::NodeIndex end) {
        return std::any_of(rig.parts.begin(), rig.parts.end(), [&](const core::Part& other) {
          const auto* diode = std::get_if<core::SiliconDiode>(&other.data);
          return diode != nullptr && diode->cathode == node && diode->anode == end;
        });
      };
      if (!feeds(winding.nodes.front()) || !feeds(winding.nodes.back())) {
        continue;
      }
      double sum = 0.0;
      for (const core::RmsVolts section : winding.section_volts) {
        sum += section.si();
      }
      const bool tapped =
          winding.nodes.size() > 2 &&
          std::count(winding.nodes.begin() + 1, winding.nodes.end() - 1, core::kChassis) > 0;
      volts = tapped ? 0.5 * sum : sum;
    }
  }
  return volts;
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
    add_knee(transformer, assumed);
    for (const core::Winding& winding : transformer.secondaries) {
      double volts = 0.0;
      for (const core::RmsVolts& section : winding.section_volts) {
        volts += section.si();
      }
      put("turns ratio, " + winding.name + " (whole winding) to primary", volts / core.emf_v, "1",
          "stated volts over the primary volts less the drop of the no-load current", assumed);
    }
  }

  void add_knee(const core::PowerTransformer& transformer, bool assumed) {
    const netlists::SaturatingCore iron =
        netlists::saturating_core(transformer, rig_.mains().frequency);
    const double hertz = rig_.mains().frequency.si();
    const double omega = 2.0 * std::numbers::pi * hertz;
    put("mains volts at which the core is at its knee", iron.knee_vs * omega / std::numbers::sqrt2,
        "V rms",
        iron.knee_measured ? "from the second no-load reading"
                           : "assumed: 1.2 times the flux at the stated volts (from memory)",
        assumed || !iron.knee_measured);
    put("inductance beyond the knee", iron.air_h, "H",
        "assumed: 5 % of the rated impedance (from memory)", true);
    double copper_ohm = 0.0;
    for (const core::Ohms ohms : transformer.primary.section_ohms) {
      copper_ohm += ohms.si();
    }
    put("primary ohms after a rise of 60 K", copper_ohm * netlists::copper_factor(60.0), "ohm",
        "cold ohms at 20 C times (234.5 + 80) / (234.5 + 20) [IEC-61558-1]");
  }

  void add(const core::NtcLimiter& part) {
    put("temperature at the rated amps", netlists::hot_kelvin(part) - 273.15, "C",
        "1 / (1 / 298.15 K + ln(hot / cold) / B)");
    put("watts at the rated amps",
        part.rated_current.si() * part.rated_current.si() * part.hot.si(), "W", "I^2 R");
  }

  void add(const core::Fuse& fuse) {
    put("current at which it surely opens", core::surely_opens_at(fuse).si(), "A rms",
        "gates of its class, or of every class when not known [IEC-60127-2] [UL-248-14]");
  }

  void add(const core::Variac& variac) {
    if (variac.winding_resistance) {
      put("output resistance at half setting",
          variac.output_resistance.si() + 0.25 * variac.winding_resistance->si(), "ohm",
          "brush and R s (1 - s) of the winding at setting s");
    }
  }

  void add(const core::Heater& heater) {
    if (heater.hot > heater.cold) {
      const netlists::TungstenParameters wire = netlists::tungsten_of(heater);
      put("temperature at rated volts", wire.hot_k, "K",
          "300 K (hot ohms / cold ohms)^(1 / 1.218), all heaters taken as one");
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

  /// Inductance at the current that flows with tubes out: what the critical one is held against.
  void add_swing(const core::Choke& choke) {
    if (!netlists::swings(choke)) {
      return;
    }
    const netlists::SwingLaw law = netlists::swing_law(choke, choke.value.nominal().si());
    put("inductance at no current", law.henry_at_rest(), "H",
        "i = a sinh(flux / b) through the two points");
    if (choke.rated_current) {
      put("inductance at the rated current", law.henry_at(choke.rated_current->si()), "H",
          "i = a sinh(flux / b) through the two points");
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
    add_swing(choke);
    for (const auto& [input, output] : {std::pair(choke.a, choke.b), std::pair(choke.b, choke.a)}) {
      const bool choke_input = input > core::kChassis && diodes_at(rig_, input) >= 2 &&
                               !has_capacitor_at(rig_, input) && has_capacitor_at(rig_, output);
      const std::optional<double> ohm = load_ohm(ohms_, output);
      if (choke_input && ohm) {
        put("critical inductance with tubes out",
            *ohm / (6.0 * std::numbers::pi * rig_.mains().frequency.si()), "H",
            "R / (6 pi f) with R the ohms behind the choke, full wave [TERMAN]; with less, the "
            "volts climb from the average toward the peak of the winding");
        add_bleeder_point(choke, input, *ohm);
      }
    }
  }

  /// The mean volts of a choke input are 0.9 of the rms volts of the winding that feeds it.
  void add_bleeder_point(const core::Choke& choke, core::NodeIndex input, double ohm) {
    const std::optional<double> volts = winding_vrms(rig_, input);
    if (!netlists::swings(choke) || !volts) {
      return;
    }
    const double amps = 0.9 * *volts / ohm;
    put("inductance at the current with tubes out",
        netlists::swing_law(choke, choke.value.nominal().si()).henry_at(amps), "H",
        "swing law at 0.9 of the winding's rms volts over the ohms behind the choke");
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
