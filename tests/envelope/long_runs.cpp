#include "tests/envelope/long_runs.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace firstglow::test {
namespace {

using netlists::CapacitorElement;
using netlists::DeckNode;
using netlists::DiodeElement;
using netlists::InductorElement;
using netlists::ResistorElement;
using sim::EnvelopeStretch;

/// i = 1e-4 A exp((v - formed) / 20 V) + v 1e-8 S; d formed/dt = 200 V per A s of it. Invented to
/// be as steep as a film that forms; the film of a real capacitor is modelled in core. In a cycle
/// it stands as its tangent, volts in series with a resistor: held as a plain resistor it would
/// swing from cycle to cycle.
class FormingFilm final : public sim::SlowLaw {
 public:
  FormingFilm(netlists::ElementIndex capacitor, netlists::ElementIndex resistor,
              netlists::ElementIndex source, DeckNode node, double formed_v)
      : capacitor_(capacitor),
        resistor_(resistor),
        source_(source),
        node_(node),
        formed_v_(formed_v) {}
  [[nodiscard]] std::vector<sim::SlowState> states() const override {
    return {{"formed", formed_v_, 600.0}};
  }
  [[nodiscard]] std::vector<DeckNode> nodes() const override { return {node_, 0}; }
  void put(std::span<const double> values, netlists::Deck& deck) const override {
    const auto at = [&](netlists::ElementIndex i) -> netlists::ElementData& {
      return deck.elements[static_cast<std::size_t>(i)].data;
    };
    const double volts = std::get<CapacitorElement>(at(capacitor_)).start_v;
    const double amps = film_a(volts, values[0]);
    const double siemens = amps / kSteepV + kLeakS;
    std::get<ResistorElement>(at(resistor_)).ohm = 1.0 / siemens;
    std::get<netlists::DcSourceElement>(at(source_)).volts =
        volts - (amps + kLeakS * volts) / siemens;
  }
  [[nodiscard]] std::vector<double> rates(std::span<const double> values,
                                          const sim::CycleView& cycle) const override {
    return {200.0 * film_a(cycle.mean_v(node_, 0), values[0])};
  }

 private:
  static constexpr double kSteepV = 20.0, kLeakS = 1e-8;
  static double film_a(double volts, double formed_v) {
    return 1e-4 * std::exp(std::min((volts - formed_v) / kSteepV, 12.0));
  }
  netlists::ElementIndex capacitor_, resistor_, source_;
  DeckNode node_;
  double formed_v_;
};

EnvelopeStretch stretch_of(double length_s, double from, double to, double load_ohm) {
  EnvelopeStretch stretch;
  stretch.length_s = length_s;
  FilterSupply supply = filter_supply(load_ohm);
  supply.absorb(0.05, 20.0, "absorbed, 20 s", stretch.laws);
  supply.absorb(0.05, 200.0, "absorbed, 200 s", stretch.laws);
  supply.leak(500.0, stretch.laws);
  stretch.deck = std::move(supply.deck);
  stretch.from_share = from;
  stretch.to_share = to;
  return stretch;
}

}  // namespace

FilterSupply filter_supply(double load_ohm) {
  FilterSupply supply;
  netlists::Deck& deck = supply.deck;
  const DeckNode out = deck.add_node();
  const auto winding = [&](double phase_deg) {
    const DeckNode emf = deck.add_node();
    const DeckNode copper = deck.add_node();
    const DeckNode end = deck.add_node();
    const DeckNode snub = deck.add_node();
    deck.add(0, netlists::SineSourceElement{emf, 0, 500.0 * std::numbers::sqrt2, 60.0, phase_deg});
    deck.add(0, ResistorElement{emf, copper, 70.0});
    deck.add(0, InductorElement{copper, end, 60e-3});
    deck.add(0, ResistorElement{end, 0, 100e3});
    deck.add(1, DiodeElement{end, out, 1e-9, 1.8, 5.0, 0.0});
    deck.add(1, ResistorElement{end, snub, 1e3});
    deck.add(1, CapacitorElement{snub, out, 1e-9});
  };
  winding(0.0);
  winding(180.0);
  const DeckNode foil = deck.add_node();
  const DeckNode coil = deck.add_node();
  const DeckNode plus = deck.add_node();
  const DeckNode plate = deck.add_node();
  deck.add(2, ResistorElement{out, foil, 2.0});
  supply.input_c = deck.add(2, CapacitorElement{foil, 0, 16e-6});
  supply.choke = deck.add(3, InductorElement{out, coil, 10.0});
  deck.add(3, ResistorElement{coil, plus, 100.0});
  deck.add(4, ResistorElement{plus, plate, 1.0});
  supply.output_c = deck.add(4, CapacitorElement{plate, 0, 47e-6});
  deck.add(5, ResistorElement{plus, 0, 50e3});
  deck.add(6, ResistorElement{plus, 0, load_ohm});
  return supply;
}

void FilterSupply::absorb(double share, double time_s, const std::string& name,
                          sim::SlowLaws& laws) {
  const auto& bulk =
      std::get<CapacitorElement>(deck.elements[static_cast<std::size_t>(output_c)].data);
  const double farad = share * bulk.farad;
  const DeckNode held = deck.add_node();
  const auto resistor = deck.add(4, ResistorElement{bulk.a, held, time_s / farad});
  const auto source = deck.add(4, netlists::DcSourceElement{held, 0, 0.0});
  laws.push_back(sim::absorption_law(name, deck, source, resistor, farad, 600.0));
}

void FilterSupply::leak(double formed_v, sim::SlowLaws& laws) {
  const DeckNode plate =
      std::get<CapacitorElement>(deck.elements[static_cast<std::size_t>(output_c)].data).a;
  const DeckNode held = deck.add_node();
  const auto resistor = deck.add(4, ResistorElement{plate, held, 1e8});
  const auto source = deck.add(4, netlists::DcSourceElement{held, 0, 0.0});
  laws.push_back(std::make_shared<FormingFilm>(output_c, resistor, source, plate, formed_v));
}

std::vector<EnvelopeStretch> even_ramp(double length_s) {
  EnvelopeStretch stretch;
  stretch.length_s = length_s;
  stretch.deck = filter_supply(5e3).deck;
  stretch.from_share = 0.0;
  return {stretch};
}

std::vector<EnvelopeStretch> hard_programme() {
  std::vector<EnvelopeStretch> all;
  for (int turn = 0; turn < 4; ++turn) {
    all.push_back(stretch_of(3.0, 0.25 * turn, 0.25 * (turn + 1), 20e3));
    const double hold_s = turn < 3 ? 57.0 : 217.0;
    all.push_back(stretch_of(hold_s, 0.25 * (turn + 1), 0.25 * (turn + 1), 20e3));
  }
  all.push_back(stretch_of(100.0, 1.0, 1.0, 5e3));
  all.push_back(stretch_of(100.0, 0.0, 0.0, 5e3));
  return all;
}

namespace {

/// One stretch, piece by piece.
void follow_stretch(sim::Engine& engine, const EnvelopeStretch& stretch, int piece_cycles,
                    std::vector<DirectPoint>& points, std::vector<double> value) {
  const double start_s = points.empty() ? 0.0 : points.back().time_s;
  if (points.empty()) {
    points.push_back({0.0, value});
  }
  std::vector<DeckNode> nodes;
  std::size_t slow = 0;
  for (const auto& law : stretch.laws) {
    slow += law->states().size();
    const auto wanted = law->nodes();
    nodes.insert(nodes.end(), wanted.begin(), wanted.end());
  }
  const std::size_t circuit = value.size() - slow;
  std::vector<double> rates(slow, 0.0);
  const long cycles = std::lround(std::ceil(stretch.length_s / kMainsPeriodS - 1e-6));
  for (long done = 0; done < cycles;) {
    const long count = std::min<long>(piece_cycles, cycles - done);
    const double piece_s = static_cast<double>(count) * kMainsPeriodS;
    const double time_s = static_cast<double>(done) * kMainsPeriodS;
    sim::EnvelopePoint point;
    point.value = value;
    for (std::size_t i = 0; i < slow; ++i) {
      point.value[circuit + i] += 0.5 * piece_s * rates[i];
    }
    sim::RunSpec spec;
    spec.stop_s = piece_s;
    spec.max_step_s = kMainsPeriodS / 200;
    spec.nodes = nodes;
    const auto waves = engine.run(sim::deck_at(stretch, kMainsPeriodS, point, time_s), spec);
    const sim::CycleView view(waves, nodes);
    std::copy(waves.final_state.begin(), waves.final_state.end(), value.begin());
    std::size_t next = 0;
    for (const auto& law : stretch.laws) {
      const std::size_t n = law->states().size();
      for (const double rate : law->rates({point.value.data() + circuit + next, n}, view)) {
        rates[next] = rate;
        value[circuit + next] += piece_s * rate;
        ++next;
      }
    }
    done += count;
    points.push_back({start_s + static_cast<double>(done) * kMainsPeriodS, value});
  }
}

}  // namespace

std::vector<DirectPoint> follow_directly(sim::Engine& engine,
                                         const std::vector<EnvelopeStretch>& programme,
                                         int piece_cycles) {
  std::vector<DirectPoint> points;
  for (const EnvelopeStretch& stretch : programme) {
    std::vector<double> value;
    if (points.empty()) {
      value = netlists::start_state(stretch.deck);
      for (const auto& law : stretch.laws) {
        for (const sim::SlowState& state : law->states()) {
          value.push_back(state.start);
        }
      }
    } else {
      value = points.back().value;  // all stretches here have the same coordinates
    }
    follow_stretch(engine, stretch, piece_cycles, points, std::move(value));
  }
  return points;
}

Difference difference_of(const std::vector<EnvelopeStretch>& programme,
                         const sim::EnvelopeCourse& course,
                         const std::vector<DirectPoint>& direct) {
  Difference worst;
  for (const DirectPoint& point : direct) {
    const std::size_t index = course.stretch_at(point.time_s - 1e-9);
    const sim::StretchCourse& stretch = course.stretches[index];
    const sim::EnvelopePoint found = stretch.at(point.time_s);
    const auto states = netlists::state_elements(programme[index].deck);
    for (std::size_t i = 0; i < states.size(); ++i) {
      const auto& element = programme[index].deck.elements[static_cast<std::size_t>(states[i])];
      const auto* capacitor = std::get_if<CapacitorElement>(&element.data);
      if (capacitor == nullptr || capacitor->farad < 1e-7) {
        continue;  // a snubber's nanofarad follows the mains, not the envelope
      }
      const double volts = std::abs(found.value[i] - point.value[i]);
      if (volts > worst.volts) {
        worst.volts = volts;
        worst.at_s = point.time_s;
      }
      if (point.time_s - stretch.start_s <= 1.0) {
        worst.first_second_v = std::max(worst.first_second_v, volts);
      }
    }
  }
  return worst;
}

}  // namespace firstglow::test
