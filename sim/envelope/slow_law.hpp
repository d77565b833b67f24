#pragma once
/// @file
/// Which physical states move too slowly to live inside a mains cycle, and how fast do they move?
///
/// A slow law owns one or more states (temperature of a lamp, volts a film is formed to, charge
/// of an absorption branch). During a cycle they are held: put() turns them into element values;
/// after it the cycle's waveform tells rates() how fast they move.

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "netlists/deck.hpp"
#include "netlists/thermistor.hpp"
#include "netlists/tungsten.hpp"
#include "sim/engine/engine.hpp"

namespace firstglow::sim {

/// The node voltages of one mains cycle.
class CycleView {
 public:
  CycleView(const Waveforms& waves, const std::vector<netlists::DeckNode>& nodes)
      : waves_(waves), nodes_(nodes) {}

  /// Mean and root mean square of v(a) - v(b) over the cycle [V]. Both nodes must be among those
  /// some law asked for. @throws ContractError otherwise.
  [[nodiscard]] double mean_v(netlists::DeckNode a, netlists::DeckNode b) const;
  [[nodiscard]] double rms_v(netlists::DeckNode a, netlists::DeckNode b) const;

 private:
  [[nodiscard]] std::vector<double> between(netlists::DeckNode a, netlists::DeckNode b) const;

  const Waveforms& waves_;
  const std::vector<netlists::DeckNode>& nodes_;
};

/// One state of a slow law.
struct SlowState {
  std::string name;    ///< unique in a programme; carried by name from one circuit to the next
  double start = 0.0;  ///< where it stands when the programme does not carry it
  double scale = 1.0;  ///< its size, > 0
  double error_share = 2e-4;  ///< of its size: error allowed in one step
};

class SlowLaw {
 public:
  virtual ~SlowLaw() = default;
  [[nodiscard]] virtual std::vector<SlowState> states() const = 0;
  /// Nodes whose volts rates() looks at.
  [[nodiscard]] virtual std::vector<netlists::DeckNode> nodes() const = 0;
  /// Sets the element values that follow from the states; the deck's start values are those of
  /// the cycle that is going to be run.
  virtual void put(std::span<const double> values, netlists::Deck& deck) const = 0;
  /// Time derivative of each state [unit/s].
  [[nodiscard]] virtual std::vector<double> rates(std::span<const double> values,
                                                  const CycleView& cycle) const = 0;
};

using SlowLaws = std::vector<std::shared_ptr<const SlowLaw>>;

/// Temperature [K] of a tungsten wire (test lamp, heater) that stands in the deck as a resistor.
/// Model: netlists::TungstenParameters. @throws ContractError unless `element` is a resistor.
[[nodiscard]] std::shared_ptr<const SlowLaw> tungsten_law(const std::string& name,
                                                          const netlists::Deck& deck,
                                                          netlists::ElementIndex element,
                                                          const netlists::TungstenParameters& wire);
/// Temperature [K] of a thermistor that stands in the deck as a resistor.
[[nodiscard]] std::shared_ptr<const SlowLaw> thermistor_law(
    const std::string& name, const netlists::Deck& deck, netlists::ElementIndex element,
    const netlists::ThermistorParameters& part);
/// Volts of one absorption branch: `source` (a DcSourceElement behind `resistor`) stands in the
/// deck for a capacitor of `farad` in series with that resistor. `scale_v` is the volts it may come
/// to.
[[nodiscard]] std::shared_ptr<const SlowLaw> absorption_law(const std::string& name,
                                                            const netlists::Deck& deck,
                                                            netlists::ElementIndex source,
                                                            netlists::ElementIndex resistor,
                                                            double farad, double scale_v);

}  // namespace firstglow::sim
