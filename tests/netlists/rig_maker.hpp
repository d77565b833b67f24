#pragma once
/// @file
/// Small rigs for tests, part by part, nodes by name ("0" is the chassis, "open" an insulated end).

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "core/rig.hpp"

namespace firstglow::test {

class RigMaker {
 public:
  RigMaker() {
    rig_.name = "test rig";
    rig_.nodes.push_back(core::Node{"0", {}});
  }

  core::NodeIndex node(const std::string& name) {
    if (name == "open") {
      return core::kOpenNode;
    }
    const auto found = std::find_if(rig_.nodes.begin(), rig_.nodes.end(),
                                    [&](const core::Node& node) { return node.name == name; });
    if (found == rig_.nodes.end()) {
      rig_.nodes.push_back(core::Node{name, {}});
      return static_cast<core::NodeIndex>(rig_.nodes.size()) - 1;
    }
    return static_cast<core::NodeIndex>(found - rig_.nodes.begin());
  }

  RigMaker& part(const std::string& designator, core::PartData data) {
    core::Part part;
    part.designator = designator;
    part.data = std::move(data);
    rig_.parts.push_back(std::move(part));
    return *this;
  }

  RigMaker& mains(double volts, double hertz, double ohms) {
    core::MainsInlet inlet;
    inlet.line = node("LINE");
    inlet.neutral = node("NEUTRAL");
    inlet.nominal = inlet.low = inlet.high = core::RmsVolts(volts);
    inlet.frequency = core::Hertz(hertz);
    inlet.source_resistance = core::Ohms(ohms);
    return part("P1", inlet);
  }

  RigMaker& fuse(const std::string& name, const std::string& a, const std::string& b) {
    core::Fuse fuse;
    fuse.a = node(a);
    fuse.b = node(b);
    fuse.rating = core::Amps(3.0);
    fuse.cold_resistance = core::Ohms(0.05);
    return part(name, fuse);
  }

  RigMaker& resistor(const std::string& name, const std::string& a, const std::string& b,
                     double ohms, core::ResistorRole role = core::ResistorRole::plain,
                     double tolerance = 0.0) {
    core::Resistor resistor;
    resistor.a = node(a);
    resistor.b = node(b);
    resistor.value.marked = core::Ohms(ohms);
    resistor.value.tolerance = {tolerance, tolerance};
    resistor.role = role;
    return part(name, resistor);
  }

  RigMaker& capacitor(const std::string& name, const std::string& plus, const std::string& minus,
                      double farads, core::Dielectric dielectric = core::Dielectric::electrolytic,
                      double esr_ohm = 1.0) {
    core::Capacitor capacitor;
    capacitor.plus = node(plus);
    capacitor.minus = node(minus);
    capacitor.value.marked = core::Farads(farads);
    capacitor.dielectric = dielectric;
    capacitor.esr = core::Ohms(esr_ohm);
    return part(name, capacitor);
  }

  RigMaker& diode(const std::string& name, const std::string& anode, const std::string& cathode,
                  int in_series = 1) {
    core::SiliconDiode diode;
    diode.anode = node(anode);
    diode.cathode = node(cathode);
    diode.in_series = in_series;
    diode.saturation_a = 1e-9;
    diode.emission = 1.8;
    diode.series_ohm = 0.04;
    diode.junction_f = 15e-12;
    return part(name, diode);
  }

  RigMaker& choke(const std::string& name, const std::string& a, const std::string& b,
                  double henries, double ohms) {
    core::Choke choke;
    choke.a = node(a);
    choke.b = node(b);
    choke.value.marked = core::Henries(henries);
    choke.dc_resistance = core::Ohms(ohms);
    return part(name, choke);
  }

  RigMaker& heater(const std::string& name, const std::string& a, const std::string& b,
                   double volts, double hot_ohm, double cold_ohm) {
    core::Heater heater;
    heater.a = node(a);
    heater.b = node(b);
    heater.rated_volts = core::RmsVolts(volts);
    heater.hot = core::Ohms(hot_ohm);
    heater.cold = core::Ohms(cold_ohm);
    return part(name, heater);
  }

  RigMaker& load_ohms(const std::string& name, const std::string& plus, const std::string& minus,
                      double ohms, core::DrawnWhen when) {
    core::ResistiveLoad load;
    load.plus = node(plus);
    load.minus = node(minus);
    load.value.marked = core::Ohms(ohms);
    load.when = when;
    return part(name, load);
  }

  RigMaker& load_amps(const std::string& name, const std::string& plus, const std::string& minus,
                      double amps, core::DrawnWhen when) {
    core::CurrentLoad load;
    load.plus = node(plus);
    load.minus = node(minus);
    load.value.marked = core::Amps(amps);
    load.when = when;
    return part(name, load);
  }

  /// One winding from its node names and one volts and one ohms value for each section.
  core::Winding winding(const std::string& name, const std::vector<std::string>& nodes,
                        const std::vector<double>& volts, const std::vector<double>& ohms) {
    core::Winding winding;
    winding.name = name;
    for (const std::string& end : nodes) {
      winding.nodes.push_back(node(end));
    }
    for (const double v : volts) {
      winding.section_volts.emplace_back(v);
    }
    for (const double ohm : ohms) {
      winding.section_ohms.emplace_back(ohm);
    }
    return winding;
  }

  RigMaker& transformer(const std::string& name, core::Winding primary,
                        std::vector<core::Winding> secondaries, double no_load_a,
                        double no_load_w) {
    core::PowerTransformer transformer;
    transformer.primary = std::move(primary);
    transformer.secondaries = std::move(secondaries);
    transformer.no_load_current = core::Amps(no_load_a);
    transformer.no_load_watts = core::Watts(no_load_w);
    return part(name, transformer);
  }

  [[nodiscard]] const core::Rig& rig() const { return rig_; }
  [[nodiscard]] core::Rig& rig() { return rig_; }

 private:
  core::Rig rig_;
};

}  // namespace firstglow::test
