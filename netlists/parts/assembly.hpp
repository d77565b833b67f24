#pragma once
/// @file
/// What does the builder of one kind of part see of the deck under construction?

#include "core/error.hpp"
#include "core/rig.hpp"
#include "netlists/deck_builder.hpp"
#include "netlists/situation.hpp"
#include "netlists/tungsten.hpp"

namespace firstglow::netlists {

/// Smallest series resistance put into a deck, so that no two sources meet without one [ohm].
inline constexpr double kLeastOhm = 1e-3;

/// The deck so far, the rig and the situation, and the part at work.
class Assembly {
 public:
  Assembly(const core::Rig& rig, const Situation& situation) : rig_(rig), situation_(situation) {
    built_.node_of.resize(rig.nodes.size());
    built_.node_of[core::kChassis] = 0;
    built_.part_in.assign(rig.parts.size(), false);
  }

  [[nodiscard]] const core::Rig& rig() const { return rig_; }
  [[nodiscard]] const Situation& situation() const { return situation_; }
  [[nodiscard]] BuiltDeck& built() { return built_; }
  [[nodiscard]] Deck& deck() { return built_.deck; }
  [[nodiscard]] bool has_variac() const;
  [[nodiscard]] bool has_series_lamp() const;

  /// Index of the part at work; -1 while helpers are added.
  int part = -1;

  [[nodiscard]] const core::Part& part_record() const {
    return rig_.parts[static_cast<std::size_t>(part)];
  }
  /// Deck node of a rig node, made at first use; an open end gets a node of its own.
  [[nodiscard]] DeckNode node(core::NodeIndex index);
  [[nodiscard]] DeckNode new_node() { return built_.deck.add_node(); }
  ElementIndex add(ElementData data) { return built_.deck.add(part, data); }
  /// Says which element carries the current of the part at work.
  void carries_current(ElementIndex element, int section = 0) {
    built_.currents.push_back(PartCurrent{part, section, element});
  }

  /// The part's value at the situation's tolerance corner.
  template <class Q>
  [[nodiscard]] double value(const core::PartValue<Q>& value) const {
    const auto corner = situation_.corner.find(part_record().designator);
    return value.at(corner == situation_.corner.end() ? 0.0 : corner->second).si();
  }

  /// A wire of tungsten: held at the situation's ohms (`default_ohm` when it gives none for
  /// `name`), or moving from `start_k`.
  ElementIndex add_wire(DeckNode a, DeckNode b, const TungstenParameters& wire,
                        const std::string& name, double default_ohm, double start_k);

 private:
  const core::Rig& rig_;
  const Situation& situation_;
  BuiltDeck built_;
};

/// One builder per kind of part; each adds its elements for the part at work.
void build(Assembly& assembly, const core::MainsInlet& inlet);
void build(Assembly& assembly, const core::Fuse& fuse);
void build(Assembly& assembly, const core::SeriesLamp& lamp);
void build(Assembly& assembly, const core::Variac& variac);
void build(Assembly& assembly, const core::PowerTransformer& transformer);
void build(Assembly& assembly, const core::SiliconDiode& diode);
void build(Assembly& assembly, const core::Resistor& resistor);
void build(Assembly& assembly, const core::Capacitor& capacitor);
void build(Assembly& assembly, const core::Choke& choke);
void build(Assembly& assembly, const core::ResistiveLoad& load);
void build(Assembly& assembly, const core::CurrentLoad& load);
void build(Assembly& assembly, const core::Heater& heater);
void build(Assembly& assembly, const core::VacuumRectifier& tube);
void build(Assembly& assembly, const core::GasRectifier& tube);
void build(Assembly& assembly, const core::SeleniumRectifier& stack);
void build(Assembly& assembly, const core::NtcLimiter& part);
void build(Assembly& assembly, const core::StepStart& part);
void build(Assembly& assembly, const core::VrTube& tube);
void build(Assembly& assembly, const core::PowerTube& tube);

}  // namespace firstglow::netlists
