#include "sim/envelope/envelope_map.hpp"

#include <algorithm>

#include "core/error.hpp"
#include "sim/envelope/deck_discharge.hpp"

namespace firstglow::sim {
namespace {

/// Samples of a run without mains; the engine's own control takes shorter steps.
constexpr int kFreeSteps = 50;

PointUnit unit_of(const netlists::ElementData& data) {
  if (std::holds_alternative<netlists::CapacitorElement>(data)) {
    return PointUnit::volts;
  }
  if (std::holds_alternative<netlists::InductorElement>(data)) {
    return PointUnit::amps;
  }
  FIRSTGLOW_REQUIRE(std::holds_alternative<netlists::SaturatingCoilElement>(data) ||
                        std::holds_alternative<netlists::SinhCoilElement>(data),
                    "the envelope holds temperatures outside the deck, as slow laws");
  return PointUnit::volt_seconds;
}

bool is_rectifier(const netlists::ElementData& data) {
  return std::holds_alternative<netlists::DiodeElement>(data) ||
         std::holds_alternative<netlists::VacuumDiodeElement>(data);
}

}  // namespace

EnvelopeMap::EnvelopeMap(Engine& engine, const EnvelopeStretch& stretch, double period_s,
                         int steps_per_cycle)
    : engine_(engine), stretch_(stretch), period_s_(period_s) {
  for (const netlists::ElementIndex index : netlists::state_elements(stretch.deck)) {
    units_.push_back(unit_of(stretch.deck.elements[static_cast<std::size_t>(index)].data));
  }
  circuit_ = static_cast<Eigen::Index>(units_.size());
  for (const auto& law : stretch.laws) {
    for (SlowState& state : law->states()) {
      FIRSTGLOW_REQUIRE(state.scale > 0.0, "a slow state has a size above 0");
      slow_.push_back(std::move(state));
      units_.push_back(PointUnit::slow);
    }
    for (const netlists::DeckNode node : law->nodes()) {
      if (std::find(spec_.nodes.begin(), spec_.nodes.end(), node) == spec_.nodes.end()) {
        spec_.nodes.push_back(node);
      }
    }
  }
  for (std::size_t i = 0; i < stretch.deck.elements.size(); ++i) {
    if (is_rectifier(stretch.deck.elements[i].data)) {
      spec_.currents.push_back(static_cast<netlists::ElementIndex>(i));
    }
  }
  spec_.stop_s = period_s;
  spec_.max_step_s = period_s / steps_per_cycle;
}

netlists::Deck EnvelopeMap::deck(const Eigen::VectorXd& point, double time_s) const {
  return deck_between(point, stretch_.share_at(time_s), stretch_.share_at(time_s + period_s_));
}

/// A ramp goes straight on past its end: the cycle centred there is half behind it, and its drift
/// is asked for as one of the ramp.
netlists::Deck EnvelopeMap::cycle_deck(const Eigen::VectorXd& point, double time_s) const {
  const double slope = (stretch_.to_share - stretch_.from_share) / stretch_.length_s;
  const double begin = stretch_.from_share + slope * time_s;
  return deck_between(point, begin, begin + slope * period_s_);
}

netlists::Deck EnvelopeMap::deck_between(const Eigen::VectorXd& point, double begin,
                                         double end) const {
  netlists::Deck deck = stretch_.deck;
  netlists::set_start_state(deck, {point.data(), point.data() + circuit_});
  for (netlists::Element& element : deck.elements) {
    if (auto* sine = std::get_if<netlists::SineSourceElement>(&element.data)) {
      sine->ramp_v_per_s = sine->peak_v * (end - begin) / period_s_;
      sine->peak_v *= begin;
    }
  }
  const double* values = point.data() + circuit_;
  for (const auto& law : stretch_.laws) {
    const std::size_t count = law->states().size();
    law->put({values, count}, deck);
    values += count;
  }
  return deck;
}

Eigen::VectorXd EnvelopeMap::drift(const Eigen::VectorXd& point, double time_s) {
  return run(point, time_s, spec_);
}

Eigen::VectorXd EnvelopeMap::drift_over(const Eigen::VectorXd& point, double time_s,
                                        double length_s) {
  if (const auto waves = blocked_run(deck(point, time_s), point, length_s)) {
    forward_a_ = 0.0;
    return drift_of(point, *waves, length_s);
  }
  RunSpec spec = spec_;
  spec.stop_s = length_s;
  spec.max_step_s = length_s / kFreeSteps;
  return run(point, time_s, spec);
}

std::optional<Waveforms> EnvelopeMap::blocked_run(const netlists::Deck& deck,
                                                  const Eigen::VectorXd& point,
                                                  double length_s) const {
  const Eigen::VectorXd start = point.head(circuit_);
  const auto network = DeckDischarge::of(deck, start);
  if (!network) {
    return std::nullopt;
  }
  Waveforms waves;
  waves.node_v.resize(spec_.nodes.size());
  const std::vector<Eigen::VectorXd> states = network->course(start, length_s, kFreeSteps);
  for (const Eigen::VectorXd& state : states) {
    if (!state.allFinite() || network->forward_v(state) > 0.0) {
      return std::nullopt;
    }
    waves.time_s.push_back(length_s * static_cast<double>(waves.time_s.size()) / kFreeSteps);
    for (std::size_t n = 0; n < spec_.nodes.size(); ++n) {
      waves.node_v[n].push_back(network->node_v(spec_.nodes[n], state));
    }
  }
  waves.final_state.assign(states.back().data(), states.back().data() + circuit_);
  return waves;
}

Eigen::VectorXd EnvelopeMap::run(const Eigen::VectorXd& point, double time_s, const RunSpec& spec) {
  const Waveforms waves = engine_.run(cycle_deck(point, time_s), spec);
  ++runs_;
  forward_a_ = 0.0;
  for (const std::vector<double>& amps : waves.current_a) {
    forward_a_ = std::max(forward_a_, *std::max_element(amps.begin(), amps.end()));
  }
  return drift_of(point, waves, spec.stop_s);
}

Eigen::VectorXd EnvelopeMap::drift_of(const Eigen::VectorXd& point, const Waveforms& waves,
                                      double length_s) const {
  Eigen::VectorXd drift(point.size());
  for (Eigen::Index i = 0; i < circuit_; ++i) {
    drift[i] = (waves.final_state[static_cast<std::size_t>(i)] - point[i]) / length_s;
  }
  drift.tail(point.size() - circuit_) = slow_rates(point, waves);
  return drift;
}

Eigen::VectorXd EnvelopeMap::slow_rates(const Eigen::VectorXd& point,
                                        const Waveforms& waves) const {
  const CycleView view(waves, spec_.nodes);
  Eigen::VectorXd rates(point.size() - circuit_);
  const double* values = point.data() + circuit_;
  Eigen::Index next = 0;
  for (const auto& law : stretch_.laws) {
    const std::size_t count = law->states().size();
    for (const double rate : law->rates({values, count}, view)) {
      rates[next++] = rate;
    }
    values += count;
  }
  return rates;
}

}  // namespace firstglow::sim
