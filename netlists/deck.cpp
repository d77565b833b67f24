#include "netlists/deck.hpp"

#include <cmath>

#include "core/error.hpp"

namespace firstglow::netlists {
namespace {

/// The start value an element carries, or nullptr when it holds no state.
double* state_of(ElementData& data) {
  if (auto* capacitor = std::get_if<CapacitorElement>(&data)) {
    return &capacitor->start_v;
  }
  if (auto* inductor = std::get_if<InductorElement>(&data)) {
    return &inductor->start_a;
  }
  if (auto* thermal = std::get_if<ThermalResistorElement>(&data)) {
    return &thermal->start_k;
  }
  if (auto* coil = std::get_if<SaturatingCoilElement>(&data)) {
    return &coil->start_vs;
  }
  if (auto* coil = std::get_if<SinhCoilElement>(&data)) {
    return &coil->start_vs;
  }
  if (auto* ntc = std::get_if<NtcElement>(&data)) {
    return &ntc->start_k;
  }
  return nullptr;
}

const double* state_of(const ElementData& data) { return state_of(const_cast<ElementData&>(data)); }

void require_positive(double value, const char* what) {
  FIRSTGLOW_REQUIRE(std::isfinite(value) && value > 0.0, what);
}

void require_finite(double value, const char* what) {
  FIRSTGLOW_REQUIRE(std::isfinite(value), what);
}

/// Checks one element's values and nodes.
class ElementChecker {
 public:
  explicit ElementChecker(const Deck& deck) : deck_(deck) {}

  void operator()(const ResistorElement& e) const {
    pair(e.a, e.b);
    require_positive(e.ohm, "a deck resistor has finite ohms above 0");
  }
  void operator()(const CapacitorElement& e) const {
    pair(e.a, e.b);
    require_positive(e.farad, "a deck capacitor has finite farads above 0");
    require_finite(e.start_v, "a deck capacitor starts at a finite voltage");
  }
  void operator()(const InductorElement& e) const {
    pair(e.a, e.b);
    require_positive(e.henry, "a deck inductor has finite henries above 0");
    require_finite(e.start_a, "a deck inductor starts at a finite current");
  }
  void operator()(const SineSourceElement& e) const {
    pair(e.a, e.b);
    require_finite(e.peak_v, "a sine source has a finite amplitude");
    require_positive(e.hz, "a sine source has a frequency above 0");
    require_finite(e.phase_deg, "a sine source has a finite phase");
    require_finite(e.ramp_v_per_s, "a sine source has a finite ramp");
  }
  void operator()(const DcSourceElement& e) const {
    pair(e.a, e.b);
    require_finite(e.volts, "a DC source has finite volts");
  }
  void operator()(const DiodeElement& e) const {
    pair(e.anode, e.cathode);
    require_positive(e.saturation_a, "a diode has a saturation current above 0");
    require_positive(e.emission, "a diode has an emission coefficient above 0");
    require_positive(e.series_ohm, "a diode has series ohms above 0");
    FIRSTGLOW_REQUIRE(std::isfinite(e.junction_f) && e.junction_f >= 0.0,
                      "a diode has a finite junction capacitance, 0 or more");
  }
  void operator()(const VacuumDiodeElement& e) const {
    pair(e.anode, e.cathode);
    require_positive(e.perveance, "a vacuum diode has a perveance above 0");
  }
  void operator()(const VoltageFollowerElement& e) const {
    pair(e.a, e.b);
    node(e.control);
    require_finite(e.gain, "a voltage follower has a finite gain");
  }
  void operator()(const CurrentMirrorElement& e) const {
    node(e.into);
    require_finite(e.gain, "a current mirror has a finite gain");
    FIRSTGLOW_REQUIRE(e.sense >= 0 && e.sense < static_cast<int>(deck_.elements.size()),
                      "a current mirror senses an element of the deck");
    FIRSTGLOW_REQUIRE(std::holds_alternative<DcSourceElement>(
                          deck_.elements[static_cast<std::size_t>(e.sense)].data),
                      "a current mirror senses a DC source (ammeter)");
  }
  void operator()(const WindingElement& e) const {
    pair(e.a, e.b);
    node(e.core);
    require_finite(e.ratio, "a winding has a finite ratio");
    require_positive(e.ohm, "a winding has ohms above 0");
  }
  void operator()(const CurrentSinkElement& e) const {
    pair(e.a, e.b);
    require_positive(e.amps, "a current sink draws amps above 0");
    require_positive(e.knee_v, "a current sink has a knee above 0 V");
  }
  void operator()(const ThermalResistorElement& e) const {
    pair(e.a, e.b);
    require_positive(e.cold_ohm, "a thermal resistor has cold ohms above 0");
    require_positive(e.exponent, "a thermal resistor has an exponent above 0");
    FIRSTGLOW_REQUIRE(std::isfinite(e.hot_k) && e.hot_k > 300.0,
                      "a thermal resistor is hotter than 300 K when hot");
    require_positive(e.hot_w, "a thermal resistor has hot watts above 0");
    require_positive(e.heat_j_per_k, "a thermal resistor has a heat capacity above 0");
    require_positive(e.start_k, "a thermal resistor starts above 0 K");
  }
  void operator()(const SaturatingCoilElement& e) const {
    pair(e.a, e.b);
    require_positive(e.air_h, "a saturating coil has an air inductance above 0 H");
    FIRSTGLOW_REQUIRE(std::isfinite(e.unsaturated_h) && e.unsaturated_h > e.air_h,
                      "a saturating coil has more inductance below its knee than above");
    require_positive(e.knee_vs, "a saturating coil has a knee above 0 Vs");
    require_positive(e.width_vs, "a saturating coil has a knee of finite width");
    require_finite(e.start_vs, "a saturating coil starts at a finite flux");
  }
  void operator()(const SinhCoilElement& e) const {
    pair(e.a, e.b);
    require_positive(e.scale_a, "a swinging coil has a scale above 0 A");
    require_positive(e.scale_vs, "a swinging coil has a scale above 0 Vs");
    require_finite(e.start_vs, "a swinging coil starts at a finite flux");
  }
  void operator()(const NtcElement& e) const {
    pair(e.a, e.b);
    require_positive(e.cold_ohm, "a thermistor has cold ohms above 0");
    require_positive(e.beta_k, "a thermistor has a B value above 0 K");
    require_positive(e.w_per_k, "a thermistor gives off heat");
    require_positive(e.heat_j_per_k, "a thermistor has a heat capacity above 0");
    require_positive(e.start_k, "a thermistor starts above 0 K");
  }
  void operator()(const SpaceCurrentElement& e) const {
    pair(e.a, e.b);
    node(e.grid);
    node(e.control);
    node(e.plate);
    FIRSTGLOW_REQUIRE(e.split >= kSpaceWhole && e.split <= kSpaceScreen,
                      "a tube's current is whole, of the plate or of the screen");
    require_positive(e.law.perveance, "a tube has a perveance above 0");
    require_positive(e.law.mu, "a tube has a mu above 0");
    require_finite(e.law.offset_v, "a tube has a finite offset");
    require_positive(e.law.tail_v, "a tube has a foot wider than 0 V");
    require_positive(e.law.knee_v, "a tube has a knee above 0 V");
    FIRSTGLOW_REQUIRE(e.law.plate_share > 0.0 && e.law.plate_share <= 1.0,
                      "a tube's plate takes more than nothing and at most everything");
  }
  void operator()(const GridDriveElement& e) const {
    pair(e.a, e.b);
    require_positive(e.amps, "a grid drive draws amps above 0");
    require_positive(e.limit_v, "a grid drive has a limit above 0 V");
  }

 private:
  void node(DeckNode n) const {
    FIRSTGLOW_REQUIRE(n >= 0 && n < deck_.node_count, "a deck element ends at nodes of the deck");
  }
  void pair(DeckNode a, DeckNode b) const {
    node(a);
    node(b);
    FIRSTGLOW_REQUIRE(a != b, "a deck element ends at two different nodes");
  }

  const Deck& deck_;
};

}  // namespace

Deck with_ammeters(Deck deck) {
  const std::size_t count = deck.elements.size();
  for (std::size_t i = 0; i < count; ++i) {
    const auto* found = std::get_if<WindingElement>(&deck.elements[i].data);
    if (found == nullptr) {
      continue;
    }
    const WindingElement winding = *found;
    const int part = deck.elements[i].part;
    const DeckNode after_meter = deck.add_node();
    const DeckNode emf = deck.add_node();
    deck.elements[i].data = DcSourceElement{winding.a, after_meter, 0.0};
    deck.add(part, ResistorElement{after_meter, emf, winding.ohm});
    deck.add(part, VoltageFollowerElement{emf, winding.b, winding.core, winding.ratio});
    deck.add(part, CurrentMirrorElement{winding.core, static_cast<ElementIndex>(i), winding.ratio});
  }
  return deck;
}

std::vector<ElementIndex> state_elements(const Deck& deck) {
  std::vector<ElementIndex> indices;
  for (std::size_t i = 0; i < deck.elements.size(); ++i) {
    if (state_of(deck.elements[i].data) != nullptr) {
      indices.push_back(static_cast<ElementIndex>(i));
    }
  }
  return indices;
}

std::vector<double> start_state(const Deck& deck) {
  std::vector<double> state;
  for (const ElementIndex index : state_elements(deck)) {
    state.push_back(*state_of(deck.elements[static_cast<std::size_t>(index)].data));
  }
  return state;
}

void set_start_state(Deck& deck, const std::vector<double>& state) {
  const std::vector<ElementIndex> indices = state_elements(deck);
  FIRSTGLOW_REQUIRE(indices.size() == state.size(), "one start value for each state element");
  for (std::size_t i = 0; i < indices.size(); ++i) {
    FIRSTGLOW_REQUIRE(std::isfinite(state[i]), "a start value is finite");
    *state_of(deck.elements[static_cast<std::size_t>(indices[i])].data) = state[i];
  }
}

void check_deck(const Deck& deck) {
  FIRSTGLOW_REQUIRE(deck.node_count >= 1, "a deck has a chassis node");
  const ElementChecker checker(deck);
  for (const Element& element : deck.elements) {
    std::visit(checker, element.data);
  }
}

}  // namespace firstglow::netlists
