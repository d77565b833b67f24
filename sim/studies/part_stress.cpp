#include "sim/studies/part_stress.hpp"

#include <algorithm>
#include <cmath>

#include "sim/envelope/waveform_figures.hpp"
#include "sim/studies/string_sharing.hpp"
#include "sim/studies/tube_stress.hpp"

namespace firstglow::sim {
namespace {

/// Two end nodes of a part whose watts are volts times amps; empty for other kinds.
struct EndsOf {
  using Ends = std::optional<std::pair<core::NodeIndex, core::NodeIndex>>;
  Ends operator()(const core::Fuse& p) const { return std::pair(p.a, p.b); }
  Ends operator()(const core::SiliconDiode& p) const { return std::pair(p.anode, p.cathode); }
  Ends operator()(const core::SeleniumRectifier& p) const { return std::pair(p.anode, p.cathode); }
  Ends operator()(const core::Resistor& p) const { return std::pair(p.a, p.b); }
  Ends operator()(const core::Capacitor& p) const { return std::pair(p.plus, p.minus); }
  Ends operator()(const core::Choke& p) const { return std::pair(p.a, p.b); }
  Ends operator()(const core::NtcLimiter& p) const { return std::pair(p.a, p.b); }
  Ends operator()(const core::StepStart& p) const { return std::pair(p.a, p.b); }
  template <class Other>
  Ends operator()(const Other& /*unused*/) const {
    return std::nullopt;
  }
};

/// Plates and heater of a rectifier tube; empty for other parts.
std::optional<double> tube_w(const core::Part& part, const RigRun& run, int index) {
  const core::RectifierHeater* heater = core::rectifier_heater(part);
  if (heater == nullptr) {
    return std::nullopt;
  }
  double watts = 0.0;
  const auto add = [&](core::NodeIndex a, core::NodeIndex b, int section) {
    const std::vector<double>* amps = run.part_a(index, section);
    if (amps != nullptr && run.has_node(a) && run.has_node(b)) {
      watts += mean_product_of(run.time_s(), run.volts_between(a, b), *amps);
    }
  };
  int section = 0;
  for (const core::RectifierPath& path : core::rectifier_paths(part)) {
    add(path.anode, path.cathode, section++);
  }
  add(heater->a, heater->b, netlists::kRectifierHeaterSection);
  return watts;
}

double transformer_w(const RigRun& run, int part, const core::PowerTransformer& transformer) {
  double watts = 0.0;
  int section = 0;
  const auto add = [&](const core::Winding& winding) {
    for (std::size_t k = 0; k + 1 < winding.nodes.size(); ++k, ++section) {
      const std::vector<double>* amps = run.part_a(part, section);
      if (amps != nullptr && run.has_node(winding.nodes[k]) && run.has_node(winding.nodes[k + 1])) {
        watts += mean_product_of(run.time_s(),
                                 run.volts_between(winding.nodes[k], winding.nodes[k + 1]), *amps);
      }
    }
  };
  add(transformer.primary);
  for (const core::Winding& winding : transformer.secondaries) {
    add(winding);
  }
  return watts;
}

/// Collects the stresses of one run.
class Collector {
 public:
  Collector(const core::Rig& rig, const RigRun& run, RunKind kind)
      : rig_(rig), run_(run), steady_(kind == RunKind::steady) {}

  std::vector<Stress> collect() {
    for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
      part_ = static_cast<int>(i);
      if (run_.built().part_in[i]) {
        std::visit([this](const auto& data) { look(data); }, rig_.parts[i].data);
      }
    }
    return std::move(found_);
  }

 private:
  void add(StressRule rule, double value, double at_s = 0.0, int section = 0) {
    found_.push_back(Stress{part_, section, rule, value, at_s});
  }
  /// Largest sample of a wave, with its time.
  void add_peak(StressRule rule, const std::vector<double>& wave, double scale = 1.0) {
    const auto top = std::max_element(wave.begin(), wave.end());
    const auto index = static_cast<std::size_t>(top - wave.begin());
    add(rule, *top * scale, run_.time_s()[index]);
  }
  [[nodiscard]] static std::vector<double> negated(std::vector<double> wave) {
    std::transform(wave.begin(), wave.end(), wave.begin(), std::negate<>());
    return wave;
  }
  [[nodiscard]] static std::vector<double> magnitude(std::vector<double> wave) {
    std::transform(wave.begin(), wave.end(), wave.begin(), [](double v) { return std::abs(v); });
    return wave;
  }
  [[nodiscard]] bool connected(core::NodeIndex a, core::NodeIndex b) const {
    return run_.has_node(a) && run_.has_node(b);
  }

  void look(const core::Capacitor& p) {
    if (!connected(p.plus, p.minus)) {
      return;
    }
    const std::vector<double> volts = run_.volts_between(p.plus, p.minus);
    const bool polarised = p.dielectric == core::Dielectric::electrolytic;
    add_peak(steady_ ? StressRule::capacitor_working_volts : StressRule::capacitor_surge_volts,
             polarised ? volts : magnitude(volts));
    if (polarised) {
      add_peak(StressRule::electrolytic_reverse_volts, negated(volts));
    }
    const std::vector<double>* amps = run_.part_a(part_);
    if (steady_ && amps != nullptr) {
      add(StressRule::capacitor_ripple_current, ac_rms_of({run_.time_s(), *amps}));
    }
  }

  void look(const core::SiliconDiode& p) {
    if (!connected(p.anode, p.cathode)) {
      return;
    }
    const std::vector<double> inverse = run_.volts_between(p.cathode, p.anode);
    add_peak(StressRule::rectifier_piv, inverse, 1.0 / p.in_series);
    if (p.in_series > 1) {
      const double top_v = *std::max_element(inverse.begin(), inverse.end());
      // without equalisers nothing is known: what an even share would be, and no limit
      add_peak(StressRule::rectifier_string_piv, inverse,
               worst_share(p, top_v).value_or(1.0) / p.in_series);
    }
    const std::vector<double>* amps = run_.part_a(part_);
    if (amps == nullptr) {
      return;
    }
    if (steady_) {
      add(StressRule::rectifier_average_current, mean_of({run_.time_s(), *amps}));
      add_peak(StressRule::rectifier_repetitive_peak, *amps);
    } else {
      add_peak(StressRule::rectifier_surge_current, *amps);
    }
  }

  void look(const core::SeleniumRectifier& p) {
    if (connected(p.anode, p.cathode)) {
      add_peak(StressRule::rectifier_piv, run_.volts_between(p.cathode, p.anode), 1.0 / p.plates);
      look_currents(steady_ ? StressRule::rectifier_average_current
                            : StressRule::rectifier_surge_current);
    }
  }

  void look(const core::GasRectifier& p) {
    look_tube(p.heater);
    if (steady_ && run_.part_a(part_) != nullptr) {
      add(StressRule::rectifier_average_current, mean_of({run_.time_s(), *run_.part_a(part_)}));
    }
  }

  void look(const core::VacuumRectifier& p) {
    look_tube(p.heater);
    if (!p.heater.direct && connected(p.heater.a, p.cathode)) {
      add_peak(StressRule::heater_cathode_volts,
               magnitude(run_.volts_between(p.heater.a, p.cathode)));
    }
    double dc_a = 0.0;
    for (const int section : {0, 1}) {
      const std::vector<double>* amps = run_.part_a(part_, section);
      dc_a += amps != nullptr ? mean_of({run_.time_s(), *amps}) : 0.0;
    }
    if (steady_) {
      add(StressRule::rectifier_dc_current, dc_a);
    }
  }

  /// What a rectifier tube of either sort meets at its worse plate and at its heater.
  void look_tube(const core::RectifierHeater& heater) {
    std::vector<Stress> worst;
    int section = 0;
    for (const core::RectifierPath& path :
         core::rectifier_paths(rig_.parts[static_cast<std::size_t>(part_)])) {
      const std::vector<double>* amps = run_.part_a(part_, section++);
      if (connected(path.anode, path.cathode)) {
        keep_worse(worst, StressRule::rectifier_piv, run_.volts_between(path.cathode, path.anode));
      }
      if (amps != nullptr) {
        keep_worse(
            worst,
            steady_ ? StressRule::rectifier_repetitive_peak : StressRule::rectifier_surge_current,
            *amps);
      }
    }
    found_.insert(found_.end(), worst.begin(), worst.end());
    if (steady_ && connected(heater.a, heater.b)) {
      add(StressRule::rectifier_heater_volts,
          rms_of({run_.time_s(), run_.volts_between(heater.a, heater.b)}));
    }
  }

  void keep_worse(std::vector<Stress>& worst, StressRule rule, const std::vector<double>& wave) {
    const auto top = std::max_element(wave.begin(), wave.end());
    const auto index = static_cast<std::size_t>(top - wave.begin());
    for (Stress& stress : worst) {
      if (stress.rule == rule) {
        if (*top > stress.value) {
          stress.value = *top;
          stress.at_s = run_.time_s()[index];
        }
        return;
      }
    }
    worst.push_back(Stress{part_, 0, rule, *top, run_.time_s()[index]});
  }

  void look_currents(StressRule rule) {
    const std::vector<double>* amps = run_.part_a(part_);
    if (amps == nullptr) {
      return;
    }
    if (rule == StressRule::rectifier_average_current) {
      add(rule, mean_of({run_.time_s(), *amps}));
    } else {
      add_peak(rule, *amps);
    }
  }

  void look(const core::Resistor& p) {
    if (!connected(p.a, p.b) || !steady_) {
      return;
    }
    add_peak(StressRule::resistor_working_volts, magnitude(run_.volts_between(p.a, p.b)));
    if (const auto watts = dissipation_w(rig_, run_, part_)) {
      add(StressRule::resistor_watts, *watts);
    }
  }

  void look(const core::Choke& p) {
    const std::vector<double>* amps = run_.part_a(part_);
    if (steady_ && amps != nullptr) {
      add(StressRule::choke_current, std::abs(mean_of({run_.time_s(), *amps})));
    }
    for (const core::NodeIndex node : {p.a, p.b}) {
      if (p.insulation_volts && run_.has_node(node)) {
        add_peak(StressRule::choke_insulation_volts, magnitude(run_.node_v(node)));
      }
    }
  }

  void look(const core::PowerTransformer& p) {
    if (!steady_) {
      return;
    }
    int section = 0;
    int winding_index = 0;
    const auto one = [&](const core::Winding& winding) {
      for (std::size_t k = 0; k < winding.section_volts.size(); ++k, ++section) {
        if (const std::vector<double>* amps = run_.part_a(part_, section)) {
          add(StressRule::winding_current, rms_of({run_.time_s(), *amps}), 0.0, winding_index);
        }
      }
      ++winding_index;
    };
    one(p.primary);
    for (const core::Winding& winding : p.secondaries) {
      one(winding);
    }
  }

  void look(const core::Fuse& /*unused*/) { look_rms(StressRule::fuse_current); }
  void look(const core::Variac& /*unused*/) { look_rms(StressRule::variac_current); }
  void look(const core::NtcLimiter& /*unused*/) { look_rms(StressRule::thermistor_current); }
  void look(const core::StepStart& /*unused*/) {
    const auto watts = dissipation_w(rig_, run_, part_);
    if (steady_ && watts) {
      add(StressRule::step_start_watts, *watts);
    }
  }
  void look_rms(StressRule rule) {
    const std::vector<double>* amps = run_.part_a(part_);
    if (steady_ && amps != nullptr) {
      add(rule, rms_of({run_.time_s(), *amps}));
    }
  }

  void look(const core::VrTube& p) { take(p); }
  void look(const core::PowerTube& p) { take(p); }
  template <class Tube>
  void take(const Tube& p) {
    if (steady_) {
      const std::vector<Stress> more = stresses_of(p, run_, part_);
      found_.insert(found_.end(), more.begin(), more.end());
    }
  }

  template <class Other>
  void look(const Other& /*no ratings of its own*/) {}

  const core::Rig& rig_;
  const RigRun& run_;
  bool steady_;
  int part_ = -1;
  std::vector<Stress> found_;
};

/// What goes into the charge of a capacitor over the run: a steady state is found to some tenths of
/// a volt, and so much a cycle would look like heat.
double stored_w(const RigRun& run, int part, const std::vector<double>& volts) {
  double farad = 0.0;
  for (const netlists::Element& element : run.built().deck.elements) {
    if (const auto* capacitor = std::get_if<netlists::CapacitorElement>(&element.data);
        capacitor != nullptr && element.part == part) {
      farad += capacitor->farad;
    }
  }
  const double gained_j =
      0.5 * farad * (volts.back() * volts.back() - volts.front() * volts.front());
  return gained_j / (run.time_s().back() - run.time_s().front());
}

}  // namespace

std::optional<double> dissipation_w(const core::Rig& rig, const RigRun& run, int part) {
  const auto index = static_cast<std::size_t>(part);
  if (!run.built().part_in.at(index)) {
    return std::nullopt;
  }
  const core::PartData& data = rig.parts[index].data;
  if (const auto* transformer = std::get_if<core::PowerTransformer>(&data)) {
    return transformer_w(run, part, *transformer);
  }
  if (const auto watts = tube_w(rig.parts[index], run, part)) {
    return watts;
  }
  const auto ends = std::visit(EndsOf{}, data);
  const std::vector<double>* amps = run.part_a(part);
  if (!ends || amps == nullptr || !run.has_node(ends->first) || !run.has_node(ends->second)) {
    return std::nullopt;
  }
  const std::vector<double> volts = run.volts_between(ends->first, ends->second);
  const double watts = mean_product_of(run.time_s(), volts, *amps);
  return std::holds_alternative<core::Capacitor>(data) ? watts - stored_w(run, part, volts) : watts;
}

std::vector<Stress> stresses_of(const core::Rig& rig, const RigRun& run, RunKind kind) {
  return Collector(rig, run, kind).collect();
}

}  // namespace firstglow::sim
