#include "sim/envelope/slow_law.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"
#include "netlists/radiation.hpp"
#include "sim/envelope/waveform_figures.hpp"

namespace firstglow::sim {
namespace {

using netlists::Deck;
using netlists::DeckNode;
using netlists::ElementIndex;

constexpr double kLeastKelvin = 200.0;
/// A branch holds some hundredths of its capacitor's charge: the capacitor sees as little of this.
constexpr double kAbsorbedShare = 1e-3;

template <class Element>
Element& element_of(Deck& deck, ElementIndex index, const char* what) {
  auto* found = std::get_if<Element>(&deck.elements.at(static_cast<std::size_t>(index)).data);
  FIRSTGLOW_REQUIRE(found != nullptr, what);
  return *found;
}

template <class Element>
const Element& element_of(const Deck& deck, ElementIndex index, const char* what) {
  return element_of<Element>(const_cast<Deck&>(deck), index, what);
}

constexpr const char* kWarmIsResistor = "a warm resistance is a deck resistor";

/// What a warm resistance needs of its physics, for each kind.
struct WarmPhysics {
  static double room_k(const netlists::TungstenParameters& /*wire*/) {
    return netlists::kRoomKelvin;
  }
  static double room_k(const netlists::ThermistorParameters& /*part*/) {
    return netlists::kThermistorRoomKelvin;
  }
  static double size_k(const netlists::TungstenParameters& wire) { return wire.hot_k; }
  static double size_k(const netlists::ThermistorParameters& part) { return room_k(part); }
  /// Watts carried off at a temperature.
  static double lost_w(const netlists::TungstenParameters& wire, double kelvin) {
    return netlists::radiated_w(wire, std::max(kelvin, kLeastKelvin));
  }
  static double lost_w(const netlists::ThermistorParameters& part, double kelvin) {
    return part.w_per_k * (kelvin - netlists::kThermistorRoomKelvin);
  }
};

template <class Parameters>
class WarmLaw final : public SlowLaw {
 public:
  WarmLaw(std::string name, const Deck& deck, ElementIndex element, const Parameters& parameters)
      : name_(std::move(name)), element_(element), parameters_(parameters) {
    const auto& resistor = element_of<netlists::ResistorElement>(deck, element, kWarmIsResistor);
    a_ = resistor.a;
    b_ = resistor.b;
  }
  [[nodiscard]] std::vector<SlowState> states() const override {
    return {{name_, WarmPhysics::room_k(parameters_), WarmPhysics::size_k(parameters_)}};
  }
  [[nodiscard]] std::vector<DeckNode> nodes() const override { return {a_, b_}; }
  void put(std::span<const double> values, Deck& deck) const override {
    element_of<netlists::ResistorElement>(deck, element_, kWarmIsResistor).ohm = ohm_at(values[0]);
  }
  [[nodiscard]] std::vector<double> rates(std::span<const double> values,
                                          const CycleView& cycle) const override {
    const double volts = cycle.rms_v(a_, b_);
    const double power_w = volts * volts / ohm_at(values[0]);
    return {(power_w - WarmPhysics::lost_w(parameters_, values[0])) / parameters_.heat_j_per_k};
  }

 private:
  [[nodiscard]] double ohm_at(double kelvin) const {
    return parameters_.ohm_at_kelvin(std::max(kelvin, kLeastKelvin));
  }
  std::string name_;
  ElementIndex element_;
  Parameters parameters_;
  DeckNode a_ = 0, b_ = 0;
};

class AbsorptionLaw final : public SlowLaw {
 public:
  AbsorptionLaw(std::string name, const Deck& deck, ElementIndex source, ElementIndex resistor,
                double farad, double scale_v)
      : name_(std::move(name)), source_(source), farad_(farad), scale_v_(scale_v) {
    FIRSTGLOW_REQUIRE(farad > 0.0, "an absorption branch has farads above 0");
    const auto& branch = element_of<netlists::ResistorElement>(
        deck, resistor, "an absorption branch has a deck resistor");
    ohm_ = branch.ohm;
    a_ = branch.a;
    b_ = branch.b;
    static_cast<void>(
        element_of<netlists::DcSourceElement>(deck, source, "a branch is held by a DC source"));
  }
  [[nodiscard]] std::vector<SlowState> states() const override {
    return {{name_, 0.0, scale_v_, kAbsorbedShare}};
  }
  [[nodiscard]] std::vector<DeckNode> nodes() const override { return {a_, b_}; }
  void put(std::span<const double> values, Deck& deck) const override {
    element_of<netlists::DcSourceElement>(deck, source_, "a branch is held by a DC source").volts =
        values[0];
  }
  [[nodiscard]] std::vector<double> rates(std::span<const double> /*values*/,
                                          const CycleView& cycle) const override {
    return {cycle.mean_v(a_, b_) / (ohm_ * farad_)};
  }

 private:
  std::string name_;
  ElementIndex source_;
  double farad_, scale_v_;
  double ohm_ = 0.0;
  DeckNode a_ = 0, b_ = 0;
};

}  // namespace

std::vector<double> CycleView::between(DeckNode a, DeckNode b) const {
  const auto wave = [&](DeckNode node) -> const std::vector<double>& {
    const auto place = std::find(nodes_.begin(), nodes_.end(), node);
    FIRSTGLOW_REQUIRE(place != nodes_.end(), "a slow law reads only nodes it asked for");
    return waves_.node_v.at(static_cast<std::size_t>(place - nodes_.begin()));
  };
  return difference_of(wave(a), wave(b));
}

double CycleView::mean_v(DeckNode a, DeckNode b) const {
  return mean_of({waves_.time_s, between(a, b)});
}

double CycleView::rms_v(DeckNode a, DeckNode b) const {
  return rms_of({waves_.time_s, between(a, b)});
}

std::shared_ptr<const SlowLaw> tungsten_law(const std::string& name, const Deck& deck,
                                            ElementIndex element,
                                            const netlists::TungstenParameters& wire) {
  return std::make_shared<WarmLaw<netlists::TungstenParameters>>(name, deck, element, wire);
}

std::shared_ptr<const SlowLaw> thermistor_law(const std::string& name, const Deck& deck,
                                              ElementIndex element,
                                              const netlists::ThermistorParameters& part) {
  return std::make_shared<WarmLaw<netlists::ThermistorParameters>>(name, deck, element, part);
}

std::shared_ptr<const SlowLaw> absorption_law(const std::string& name, const Deck& deck,
                                              ElementIndex source, ElementIndex resistor,
                                              double farad, double scale_v) {
  return std::make_shared<AbsorptionLaw>(name, deck, source, resistor, farad, scale_v);
}

}  // namespace firstglow::sim
