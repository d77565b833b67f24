#include "sim/engine/deck_run.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "netlists/spice_text.hpp"
#include "sim/engine/probes.hpp"
#include "sim/engine/spike_check.hpp"

namespace firstglow::sim {
namespace {

using netlists::Deck;
using netlists::ElementIndex;
using Column = std::vector<double>;

const Deck& checked(const RunJob& job) {
  netlists::check_deck(job.deck);
  check_run_spec(job.deck, job.spec);
  return job.deck;
}

netlists::SpiceTransient transient_of(const RunSpec& spec) {
  netlists::SpiceTransient transient;
  transient.gear = spec.accuracy == Accuracy::fine;
  transient.stop_s = spec.stop_s;
  transient.max_step_s = spec.max_step_s * (transient.gear ? 0.5 : 1.0);
  // One step more than asked for, so that a point exactly at save_from_s can be interpolated.
  transient.keep_from_s = std::max(0.0, spec.save_from_s - 1.5 * transient.max_step_s);
  return transient;
}

/// Vectors for what is asked, for the final state and for the spike check.
Probes probes_of(const RunJob& job) {
  Probes probes(job.deck);
  for (const netlists::DeckNode node : job.spec.nodes) {
    probes.want_node(node);
  }
  for (const ElementIndex element : job.spec.currents) {
    probes.want_current(element);
  }
  for (const ElementIndex element : netlists::state_elements(job.deck)) {
    probes.want_state(element);
  }
  for (std::size_t i = 0; i < job.deck.elements.size(); ++i) {
    if (const auto* diode = std::get_if<netlists::DiodeElement>(&job.deck.elements[i].data)) {
      probes.want_current(static_cast<ElementIndex>(i));
      probes.want_node(diode->anode);
    } else if (std::holds_alternative<netlists::VacuumDiodeElement>(job.deck.elements[i].data)) {
      probes.want_current(static_cast<ElementIndex>(i));
    }
  }
  return probes;
}

/// Fills node or element from a name of spice_text.
void place_failure(const Deck& deck, const std::string& name, RunFailure& failure) {
  const std::size_t digits = name.find_first_of("0123456789");
  if (digits == std::string::npos) {
    return;
  }
  int number = -1;
  const auto parsed = std::from_chars(name.data() + digits, name.data() + name.size(), number);
  if (parsed.ec != std::errc{}) {
    return;
  }
  if (name.front() == 'n') {
    failure.node = number > 0 && number < deck.node_count ? number : -1;
  } else if (number >= 0 && number < static_cast<int>(deck.elements.size())) {
    failure.element = number;
  }
}

/// Voltage the circuit may have at most, generously: four times what its nodes nearly always
/// stay below, and every source and charge added.
double circuit_volts(const Deck& deck, const std::vector<std::string>& names,
                     const std::vector<Column>& columns) {
  double usual_v = 0.0;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (names[i].front() != 'n') {
      continue;
    }
    Column sorted;
    sorted.reserve(columns[i].size());
    for (const double v : columns[i]) {
      sorted.push_back(std::abs(v));
    }
    const auto rank = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() * 19 / 20);
    std::nth_element(sorted.begin(), rank, sorted.end());
    usual_v = std::max(usual_v, *rank);
  }
  double volts = 4.0 * usual_v;
  for (const netlists::Element& element : deck.elements) {
    if (const auto* sine = std::get_if<netlists::SineSourceElement>(&element.data)) {
      volts += std::abs(sine->peak_v);
    } else if (const auto* charge = std::get_if<netlists::CapacitorElement>(&element.data)) {
      volts += std::abs(charge->start_v);
    } else if (const auto* dc = std::get_if<netlists::DcSourceElement>(&element.data)) {
      volts += std::abs(dc->volts);
    }
  }
  return volts;
}

/// Element with a spike in its current, -1 when there is none.
ElementIndex spiking_element(const Deck& deck, const Probes& probes, const SpiceResult& result) {
  const double limit_v = circuit_volts(deck, probes.vectors(), result.vectors);
  for (std::size_t i = 0; i < deck.elements.size(); ++i) {
    const auto* diode = std::get_if<netlists::DiodeElement>(&deck.elements[i].data);
    const auto* tube = std::get_if<netlists::VacuumDiodeElement>(&deck.elements[i].data);
    const auto index = static_cast<ElementIndex>(i);
    if (tube != nullptr && has_spike(*tube, probes.current_a(result.vectors, index), limit_v)) {
      return index;
    }
    if (diode == nullptr) {
      continue;
    }
    const Column amps = probes.current_a(result.vectors, index);
    const Column drive = probes.volts(result.vectors, diode->anode, diode->cathode);
    if (has_spike(*diode, result.time_s, {&amps, &drive}, limit_v)) {
      return index;
    }
  }
  return -1;
}

/// Cuts everything before `from_s` and puts an interpolated first point exactly there.
class Cut {
 public:
  Cut(const Column& time_s, double from_s) : from_s_(from_s) {
    if (from_s > 0.0) {
      first_ = static_cast<std::size_t>(std::lower_bound(time_s.begin(), time_s.end(), from_s) -
                                        time_s.begin());
    }
    if (first_ > 0 && first_ < time_s.size()) {
      share_ = (from_s - time_s[first_ - 1]) / (time_s[first_] - time_s[first_ - 1]);
    }
  }
  [[nodiscard]] Column operator()(const Column& values) const {
    Column kept;
    if (first_ > 0 && share_ < 1.0) {
      kept.push_back(values[first_ - 1] + share_ * (values[first_] - values[first_ - 1]));
    }
    kept.insert(kept.end(), values.begin() + static_cast<std::ptrdiff_t>(first_), values.end());
    return kept;
  }
  [[nodiscard]] Column times(const Column& time_s) const {
    Column kept = (*this)(time_s);
    if (first_ > 0) {
      kept.front() = from_s_;
    }
    return kept;
  }

 private:
  double from_s_;
  std::size_t first_ = 0;
  double share_ = 1.0;
};

Waveforms waveforms_of(const RunJob& job, const Probes& probes, const SpiceResult& result) {
  const Cut cut(result.time_s, job.spec.save_from_s);
  Waveforms waveforms;
  waveforms.time_s = cut.times(result.time_s);
  for (const netlists::DeckNode node : job.spec.nodes) {
    waveforms.node_v.push_back(node == 0 ? Column(waveforms.time_s.size(), 0.0)
                                         : cut(probes.volts(result.vectors, node, 0)));
  }
  for (const ElementIndex element : job.spec.currents) {
    waveforms.current_a.push_back(cut(probes.current_a(result.vectors, element)));
  }
  for (const ElementIndex element : netlists::state_elements(job.deck)) {
    waveforms.final_state.push_back(probes.final_state(result.vectors, element));
  }
  return waveforms;
}

}  // namespace

DeckRun run_deck(NgspiceSession& session, const RunJob& job) {
  const Deck& deck = checked(job);
  const Probes probes = probes_of(job);
  const netlists::SpiceLines lines =
      netlists::spice_deck("run", deck, transient_of(job.spec), probes.vectors());
  netlists::require_plain_spice(lines);
  SpiceResult result = session.run(lines, probes.vectors(), job.spec.stop_s);
  RunFailure failure{result.message, result.reached_s, result.solver_lines, -1, -1};
  if (result.ok) {
    failure.element = spiking_element(deck, probes, result);
    if (failure.element < 0) {
      return {waveforms_of(job, probes, result), false};
    }
    failure.message = "the integration left a current spike that no circuit can have";
  }
  place_failure(deck, result.failing_name, failure);
  return {std::move(failure), result.fatal};
}

}  // namespace firstglow::sim
