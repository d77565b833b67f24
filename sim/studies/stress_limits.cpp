#include "sim/studies/stress_limits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "sim/studies/string_sharing.hpp"
#include "sim/studies/tube_limits.hpp"
#include "sim/studies/tube_rules.hpp"
#include "sim/studies/tube_stress.hpp"

namespace firstglow::sim {
namespace {

constexpr const char* kRecord = "rating in the record";

/// Largest continuous volts the wrong way round that a wet aluminium electrolytic is held to here
/// [V]. Common practice, no source: makers forbid reverse volts beyond the drop of a diode.
constexpr double kReverseVolts = 1.0;

struct RuleWords {
  const char* id;
  const char* quantity;
  const char* unit;
  const char* record_key;  ///< which key of the record gives the rating
};

RuleWords words_of(StressRule rule) {
  switch (rule) {
    case StressRule::capacitor_working_volts:
      return {"capacitor-working-volts", "peak volts across, steady", "V", "working_volts"};
    case StressRule::capacitor_surge_volts:
      return {"capacitor-surge-volts", "peak volts across, transient", "V", "surge_volts"};
    case StressRule::electrolytic_reverse_volts:
      return {"electrolytic-reverse-volts", "volts the wrong way round", "V", ""};
    case StressRule::capacitor_ripple_current:
      return {"capacitor-ripple-current", "ripple current, rms", "A", "ripple_current"};
    case StressRule::rectifier_piv:
      return {"rectifier-piv", "peak inverse volts", "V", "piv"};
    case StressRule::rectifier_average_current:
      return {"rectifier-average-current", "average current", "A", "average_current"};
    case StressRule::rectifier_repetitive_peak:
      return {"rectifier-repetitive-peak", "repetitive peak current", "A", "repetitive_peak"};
    case StressRule::rectifier_surge_current:
      return {"rectifier-surge-current", "peak current at switch-on", "A", "surge_current"};
    case StressRule::rectifier_string_piv:
      return {"rectifier-string-piv", "inverse volts on the worst diode of the string", "V",
              "equaliser (or avalanche: yes)"};
    case StressRule::rectifier_dc_current:
      return {"rectifier-dc-current", "DC of all plates", "A", "dc_current"};
    case StressRule::rectifier_heater_volts:
      return {"rectifier-heater-volts", "heater volts, rms", "V", "heater_volts"};
    case StressRule::heater_cathode_volts:
      return {"heater-cathode-volts", "peak volts from heater to cathode", "V",
              "heater_cathode_volts"};
    case StressRule::resistor_watts:
      return {"resistor-watts", "mean dissipation", "W", "watts"};
    case StressRule::resistor_working_volts:
      return {"resistor-working-volts", "peak volts across, steady", "V", "working_volts"};
    case StressRule::choke_current:
      return {"choke-current", "DC current", "A", "rated_current"};
    case StressRule::choke_insulation_volts:
      return {"choke-insulation-volts", "peak volts to the chassis", "V", "insulation_volts"};
    case StressRule::winding_current:
      return {"winding-current", "winding current, rms", "A", "rated_current"};
    case StressRule::fuse_current:
      return {"fuse-current", "current, rms", "A", "rating"};
    case StressRule::thermistor_current:
      return {"thermistor-current", "current, rms", "A", "rated_current"};
    case StressRule::step_start_watts:
      return {"step-start-watts", "mean dissipation, relay never closing", "W", "watts"};
    case StressRule::vr_tube_current:
      return {"vr-tube-current", "highest current", "A", "most_current"};
    case StressRule::vr_tube_least_current:
      return {"vr-tube-least-current", "least current", "A", "least_current"};
    case StressRule::vr_tube_strike:
      return {"vr-tube-strike", "volts reached before it strikes", "V", "strike_volts"};
    case StressRule::tube_plate_watts:
      return {"tube-plate-watts", "plate dissipation, each tube", "W", "plate_watts"};
    case StressRule::tube_screen_watts:
      return {"tube-screen-watts", "screen dissipation, each tube", "W", "screen_watts"};
    case StressRule::tube_plate_volts:
      return {"tube-plate-volts", "DC plate volts", "V", "plate_volts"};
    case StressRule::tube_screen_volts:
      return {"tube-screen-volts", "DC screen volts, drawing", "V", "screen_volts"};
    case StressRule::tube_screen_volts_cut_off:
      return {"tube-screen-volts-cut-off", "DC screen volts, cut off", "V", "screen_volts"};
    case StressRule::tube_key_volts:
      return {"tube-key-volts", "volts across the open key", "V", ""};
    case StressRule::tube_unbiased_plate_watts:
      return {"tube-unbiased-plate-watts", "plate dissipation without bias", "W", "plate_watts"};
    case StressRule::tube_unbiased_screen_watts:
      return {"tube-unbiased-screen-watts", "screen dissipation without bias", "W", "screen_watts"};
    case StressRule::tube_open_plate_screen_watts:
      return {"tube-open-plate-screen-watts", "screen dissipation, plate lead open", "W",
              "screen_watts"};
    case StressRule::variac_current:
      break;
  }
  return {"variac-current", "current, rms", "A", "rated_current"};
}

struct Limit {
  std::optional<double> value;
  std::string source = kRecord;
  bool only_if_known = false;  ///< no finding at all when the rating is unknown
  std::string note;            ///< said beside the numbers
};

Limit of_tube(TubeLimit limit) {
  // a rule that does not apply is one with no rating and no finding
  return Limit{limit.idle ? std::nullopt : limit.value, std::move(limit.source),
               limit.idle || limit.only_if_known, std::move(limit.note)};
}

template <class Q>
Limit rated(const std::optional<Q>& rating, bool only_if_known = false) {
  return Limit{rating ? std::optional(rating->si()) : std::nullopt, kRecord, only_if_known, {}};
}

/// A rating of the record, or of the published type it names.
template <class Q>
Limit rated_tube(const std::optional<Q>& rating) {
  Limit limit = rated(rating);
  limit.source = "rating in the record or of the named type";
  return limit;
}

/// Heater volts above rated: 10 % of a receiving type [6X4-DS], 5 % of a gas tube [866A-DS].
constexpr double kVacuumHeaterBand = 1.10;
constexpr double kGasHeaterBand = 1.05;

Limit heater_limit(const core::RectifierHeater& heater, double band) {
  return Limit{heater.rated_volts.si() * band,
               fmt::format("{:.0f} % of the rated volts {}", 100.0 * band,
                           band == kGasHeaterBand ? "[866A-DS]" : "[6X4-DS]"),
               false};
}

Limit capacitor_limit(const core::Capacitor& p, StressRule rule) {
  switch (rule) {
    case StressRule::capacitor_surge_volts:
      if (p.surge_volts) {
        return rated(p.surge_volts);
      }
      return Limit{p.working_volts ? std::optional(p.working_volts->si()) : std::nullopt,
                   "working volts in the record (no surge rating given)",
                   false,
                   {}};
    case StressRule::electrolytic_reverse_volts:
      return Limit{kReverseVolts, "common practice, no source", false, {}};
    case StressRule::capacitor_ripple_current:
      return rated(p.ripple_current, true);
    default:
      return rated(p.working_volts);
  }
}

Limit diode_limit(const core::SiliconDiode& p, StressRule rule) {
  switch (rule) {
    case StressRule::rectifier_piv:
      return rated(p.piv);
    case StressRule::rectifier_string_piv:
      return worst_share(p, 1.0) ? rated(p.piv) : Limit{};
    case StressRule::rectifier_average_current:
      return rated(p.average_current);
    case StressRule::rectifier_repetitive_peak:
      return rated(p.repetitive_peak, true);
    default:
      return rated(p.surge_current);
  }
}

Limit selenium_limit(const core::SeleniumRectifier& p, StressRule rule) {
  switch (rule) {
    case StressRule::rectifier_piv:
      return rated(p.piv_per_plate);
    case StressRule::rectifier_average_current:
      return rated(std::optional(p.average_current));
    default:
      return rated(p.surge_current);
  }
}

Limit gas_limit(const core::GasRectifier& p, StressRule rule) {
  switch (rule) {
    case StressRule::rectifier_piv:
      return rated_tube(p.piv);
    case StressRule::rectifier_average_current:
      return rated_tube(p.average_current);
    case StressRule::rectifier_repetitive_peak:
      return rated_tube(p.steady_peak);
    case StressRule::rectifier_heater_volts:
      return heater_limit(p.heater, kGasHeaterBand);
    default:
      return rated_tube(p.surge_current);
  }
}

struct LimitOf {
  const core::Rig& rig;
  StressRule rule;
  int section;

  Limit operator()(const core::Capacitor& p) const { return capacitor_limit(p, rule); }
  Limit operator()(const core::SiliconDiode& p) const { return diode_limit(p, rule); }
  Limit operator()(const core::SeleniumRectifier& p) const { return selenium_limit(p, rule); }
  Limit operator()(const core::GasRectifier& p) const { return gas_limit(p, rule); }
  Limit operator()(const core::VacuumRectifier& p) const {
    switch (rule) {
      case StressRule::rectifier_piv:
        return rated_tube(p.piv);
      case StressRule::rectifier_repetitive_peak:
        return rated_tube(p.steady_peak);
      case StressRule::rectifier_dc_current:
        return has_capacitor_input(rig, p) && p.capacitor_dc_current
                   ? rated_tube(p.capacitor_dc_current)
                   : rated_tube(p.dc_current);
      case StressRule::rectifier_heater_volts:
        return heater_limit(p.heater, kVacuumHeaterBand);
      case StressRule::heater_cathode_volts:
        return rated_tube(p.heater_cathode_volts);
      default:
        return rated_tube(p.hot_switching_peak);
    }
  }
  Limit operator()(const core::Resistor& p) const {
    return rule == StressRule::resistor_watts ? rated(p.watts) : rated(p.working_volts);
  }
  Limit operator()(const core::Choke& p) const {
    return rule == StressRule::choke_current ? rated(p.rated_current)
                                             : rated(p.insulation_volts, true);
  }
  Limit operator()(const core::PowerTransformer& p) const {
    return rated(winding(p).rated_current);
  }
  Limit operator()(const core::Fuse& p) const { return rated(std::optional(p.rating)); }
  Limit operator()(const core::Variac& p) const { return rated(p.rated_current, true); }
  Limit operator()(const core::NtcLimiter& p) const {
    return rated(std::optional(p.rated_current));
  }
  Limit operator()(const core::StepStart& p) const { return rated(p.watts); }
  Limit operator()(const core::VrTube& p) const { return of_tube(limit_of(p, rule)); }
  Limit operator()(const core::PowerTube& p) const { return of_tube(limit_of(p, rule)); }
  template <class Other>
  Limit operator()(const Other& /*unrated kind*/) const {
    return {};
  }

  [[nodiscard]] const core::Winding& winding(const core::PowerTransformer& p) const {
    return section == 0 ? p.primary : p.secondaries.at(static_cast<std::size_t>(section) - 1);
  }
};

/// "T1 plate" for a winding, the designator for everything else.
std::string part_words(const core::Rig& rig, const StressKey& key) {
  const core::Part& part = rig.parts.at(static_cast<std::size_t>(std::get<0>(key)));
  const auto* transformer = std::get_if<core::PowerTransformer>(&part.data);
  if (transformer == nullptr) {
    return part.designator;
  }
  const LimitOf limit_of{rig, std::get<2>(key), std::get<1>(key)};
  const std::string& name = limit_of.winding(*transformer).name;
  return part.designator + " " + (name.empty() ? "primary" : name);
}

}  // namespace

std::optional<core::Finding> judge(const core::Rig& rig, const StressKey& key,
                                   const WorstStress& worst) {
  const auto [part, section, rule] = key;
  const Limit limit =
      std::visit(LimitOf{rig, rule, section}, rig.parts.at(static_cast<std::size_t>(part)).data);
  const bool screen_volts =
      rule == StressRule::tube_screen_volts || rule == StressRule::tube_screen_volts_cut_off;
  if ((!limit.value && limit.only_if_known) || (screen_volts && worst.value <= 0.0)) {
    return std::nullopt;
  }
  const RuleWords words = words_of(rule);
  core::Finding finding;
  finding.rule = words.id;
  finding.part = part_words(rig, key);
  finding.quantity = words.quantity;
  finding.unit = words.unit;
  finding.value =
      rule == StressRule::electrolytic_reverse_volts ? std::max(0.0, worst.value) : worst.value;
  if (is_floor(rule)) {
    finding.limit_is_least = true;
    finding.value = worst.value == 0.0 ? 0.0 : -worst.value;
  }
  finding.limit = limit.value;
  finding.situation = worst.situation;
  if (worst.transient) {
    finding.at_s = worst.at_s;
  }
  finding.limit_source = limit.source;
  if (!limit.value) {
    finding.verdict = core::Verdict::no_verdict;
    finding.limit_source.clear();
    finding.note = fmt::format("rating unknown: give {} in the record", words.record_key);
    if (rule == StressRule::rectifier_string_piv) {
      finding.note =
          "no equalisers and no avalanche types: how the string shares is not known; the "
          "volts shown are an even share; give equaliser, or avalanche: yes";
    }
  } else {
    const bool kept =
        finding.limit_is_least ? *finding.value >= *limit.value : *finding.value <= *limit.value;
    finding.verdict = kept ? core::Verdict::safe : core::Verdict::unsafe;
    finding.note = limit.note;
  }
  return finding;
}

}  // namespace firstglow::sim
