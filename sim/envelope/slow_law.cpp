#include "sim/envelope/slow_law.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"
#include "sim/envelope/waveform_figures.hpp"

namespace firstglow::sim {
namespace {

using netlists::Deck;
using netlists::DeckNode;
using netlists::ElementIndex;

constexpr double kLeastKelvin = 200.0;

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

class TungstenLaw final : public SlowLaw {
 public:
  TungstenLaw(std::string name, const Deck& deck, ElementIndex element,
              const netlists::TungstenParameters& wire)
      : name_(std::move(name)), element_(element), wire_(wire) {
    const auto& resistor = element_of<netlists::ResistorElement>(deck, element, kWarmIsResistor);
    a_ = resistor.a;
    b_ = resistor.b;
  }
  [[nodiscard]] std::vector<SlowState> states() const override {
    return {{name_, netlists::kRoomKelvin, wire_.hot_k}};
  }
  [[nodiscard]] std::vector<DeckNode> nodes() const override { return {a_, b_}; }
  void put(std::span<const double> values, Deck& deck) const override {
    element_of<netlists::ResistorElement>(deck, element_, kWarmIsResistor).ohm = ohm_at(values[0]);
  }
  [[nodiscard]] std::vector<double> rates(std::span<const double> values,
                                          const CycleView& cycle) const override {
    const double volts = cycle.rms_v(a_, b_);
    const double power_w = volts * volts / ohm_at(values[0]);
    const double room4 = std::pow(netlists::kRoomKelvin, 4);
    const double lost_w = wire_.hot_w * (std::pow(std::max(values[0], kLeastKelvin), 4) - room4) /
                          (std::pow(wire_.hot_k, 4) - room4);
    return {(power_w - lost_w) / wire_.heat_j_per_k};
  }

 private:
  [[nodiscard]] double ohm_at(double kelvin) const {
    return wire_.ohm_at_kelvin(std::max(kelvin, kLeastKelvin));
  }
  std::string name_;
  ElementIndex element_;
  netlists::TungstenParameters wire_;
  DeckNode a_ = 0, b_ = 0;
};

class ThermistorLaw final : public SlowLaw {
 public:
  ThermistorLaw(std::string name, const Deck& deck, ElementIndex element,
                const netlists::ThermistorParameters& part)
      : name_(std::move(name)), element_(element), part_(part) {
    const auto& resistor = element_of<netlists::ResistorElement>(deck, element, kWarmIsResistor);
    a_ = resistor.a;
    b_ = resistor.b;
  }
  [[nodiscard]] std::vector<SlowState> states() const override {
    return {{name_, netlists::kThermistorRoomKelvin, netlists::kThermistorRoomKelvin}};
  }
  [[nodiscard]] std::vector<DeckNode> nodes() const override { return {a_, b_}; }
  void put(std::span<const double> values, Deck& deck) const override {
    element_of<netlists::ResistorElement>(deck, element_, kWarmIsResistor).ohm = ohm_at(values[0]);
  }
  [[nodiscard]] std::vector<double> rates(std::span<const double> values,
                                          const CycleView& cycle) const override {
    const double volts = cycle.rms_v(a_, b_);
    const double power_w = volts * volts / ohm_at(values[0]);
    const double lost_w = part_.w_per_k * (values[0] - netlists::kThermistorRoomKelvin);
    return {(power_w - lost_w) / part_.heat_j_per_k};
  }

 private:
  [[nodiscard]] double ohm_at(double kelvin) const {
    return part_.ohm_at_kelvin(std::max(kelvin, kLeastKelvin));
  }
  std::string name_;
  ElementIndex element_;
  netlists::ThermistorParameters part_;
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
  [[nodiscard]] std::vector<SlowState> states() const override { return {{name_, 0.0, scale_v_}}; }
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
  return std::make_shared<TungstenLaw>(name, deck, element, wire);
}

std::shared_ptr<const SlowLaw> thermistor_law(const std::string& name, const Deck& deck,
                                              ElementIndex element,
                                              const netlists::ThermistorParameters& part) {
  return std::make_shared<ThermistorLaw>(name, deck, element, part);
}

std::shared_ptr<const SlowLaw> absorption_law(const std::string& name, const Deck& deck,
                                              ElementIndex source, ElementIndex resistor,
                                              double farad, double scale_v) {
  return std::make_shared<AbsorptionLaw>(name, deck, source, resistor, farad, scale_v);
}

}  // namespace firstglow::sim
