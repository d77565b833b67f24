#include "netlists/deck_builder.hpp"

#include <algorithm>
#include <cmath>

#include "netlists/islands.hpp"
#include "netlists/parts/assembly.hpp"
#include "netlists/stage_parts.hpp"

namespace firstglow::netlists {
namespace {

void require_known(const core::Rig& rig, const std::string& designator, const char* list) {
  FIRSTGLOW_REQUIRE(rig.find(designator) != nullptr, "situation." + std::string(list) + " names '" +
                                                         designator +
                                                         "', which is not a part of the rig");
}

void check_situation(const core::Rig& rig, const Situation& situation) {
  FIRSTGLOW_REQUIRE(situation.variac_setting > 0.0 && situation.variac_setting <= 1.2,
                    "a variac setting lies above 0 and at most at 1.2");
  FIRSTGLOW_REQUIRE(std::isfinite(situation.closing_angle_deg), "a closing angle is finite");
  FIRSTGLOW_REQUIRE(situation.remanence >= -1.0 && situation.remanence <= 1.0,
                    "a remanence lies between -1 and +1");
  FIRSTGLOW_REQUIRE(situation.winding_rise_k > -100.0 && situation.winding_rise_k < 300.0,
                    "a winding is not colder than -80 C nor hotter than 320 C");
  if (situation.line) {
    FIRSTGLOW_REQUIRE(situation.line->is_finite() && situation.line->si() >= 0.0,
                      "the line has finite volts, 0 or more");
  }
  for (const auto& [designator, corner] : situation.corner) {
    require_known(rig, designator, "corner");
    FIRSTGLOW_REQUIRE(corner >= -1.0 && corner <= 1.0, "a corner lies between -1 and +1");
  }
  for (const auto* list :
       {&situation.lifted, &situation.lit, &situation.unbiased, &situation.plate_open}) {
    for (const std::string& designator : *list) {
      require_known(rig, designator, "list of parts");
    }
  }
  for (const std::string& designator : situation.cold_rectifiers) {
    require_known(rig, designator, "cold_rectifiers");
  }
  for (const auto& [designator, ohm] : situation.held_ohm) {
    if (designator != "lamp") {
      require_known(rig, designator, "held_ohm");
    }
    FIRSTGLOW_REQUIRE(std::isfinite(ohm) && ohm > 0.0, "a held resistance is finite, above 0");
  }
}

/// Parts that could carry no current wherever the rest goes: an end insulated, both ends on one
/// node, or both ends on nodes that nothing else touches.
class FloatingParts {
 public:
  FloatingParts(const core::Rig& rig, std::vector<bool>& in) : rig_(rig), in_(in) {}

  void take_out() {
    for (bool changed = true; changed;) {
      changed = false;
      count_ends();
      for (std::size_t i = 0; i < in_.size(); ++i) {
        if (in_[i] && floats(rig_.parts[i])) {
          in_[i] = false;
          changed = true;
        }
      }
    }
  }

 private:
  void count_ends() {
    ends_at_.assign(rig_.nodes.size(), 0);
    for (std::size_t i = 0; i < in_.size(); ++i) {
      for (const core::NodeIndex node : core::terminals(rig_.parts[i])) {
        if (in_[i] && node != core::kOpenNode) {
          ++ends_at_[static_cast<std::size_t>(node)];
        }
      }
    }
  }

  [[nodiscard]] bool alone(core::NodeIndex node) const {
    return node != core::kChassis && ends_at_[static_cast<std::size_t>(node)] < 2;
  }

  [[nodiscard]] bool floats(const core::Part& part) const {
    const bool stays = std::holds_alternative<core::MainsInlet>(part.data) ||
                       std::holds_alternative<core::PowerTransformer>(part.data) ||
                       std::holds_alternative<core::Variac>(part.data) ||
                       core::rectifier_heater(part) != nullptr;
    if (stays) {
      return false;
    }
    const std::vector<core::NodeIndex> ends = core::terminals(part);
    if (const auto* tube = std::get_if<core::PowerTube>(&part.data)) {
      const bool fed = (tube->plate != core::kOpenNode && !alone(tube->plate)) ||
                       (tube->screen != core::kOpenNode && !alone(tube->screen));
      return !fed || tube->cathode == core::kOpenNode || alone(tube->cathode);
    }
    const bool open = std::count(ends.begin(), ends.end(), core::kOpenNode) > 0;
    return open || ends[0] == ends[1] || (alone(ends[0]) && alone(ends[1]));
  }

  const core::Rig& rig_;
  std::vector<bool>& in_;
  std::vector<int> ends_at_;
};

std::vector<bool> parts_in(const core::Rig& rig, const Situation& situation) {
  std::vector<bool> in = stage_parts(rig, situation.stage);
  for (std::size_t i = 0; i < in.size(); ++i) {
    in[i] = in[i] && !situation.lifted.contains(rig.parts[i].designator);
  }
  FloatingParts(rig, in).take_out();
  return in;
}

void add_shunts(const core::Rig& rig, const Situation& situation, BuiltDeck& built) {
  for (const auto& [wanted, ohm] : situation.shunts) {
    const std::string& name = wanted;  // C++20 lets no lambda of clang 14 keep the binding itself
    const auto named = [&name](const core::Node& node) { return node.name == name; };
    const auto found = std::find_if(rig.nodes.begin(), rig.nodes.end(), named);
    FIRSTGLOW_REQUIRE(found != rig.nodes.end(),
                      "situation.shunts names '" + name + "', which is not a node of the rig");
    const auto& node = built.node_of[static_cast<std::size_t>(found - rig.nodes.begin())];
    if (node && *node != 0) {
      built.deck.add(-1, ResistorElement{*node, 0, ohm});
    }
  }
}

}  // namespace

std::optional<ElementIndex> BuiltDeck::current_of(int part, int section) const {
  for (const PartCurrent& current : currents) {
    if (current.part == part && current.section == section) {
      return current.element;
    }
  }
  return std::nullopt;
}

BuiltDeck build_deck(const core::Rig& rig, const Situation& situation) {
  check_situation(rig, situation);
  Assembly assembly(rig, situation);
  assembly.built().part_in = parts_in(rig, situation);
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (assembly.built().part_in[i]) {
      assembly.part = static_cast<int>(i);
      std::visit([&](const auto& data) { build(assembly, data); }, rig.parts[i].data);
    }
  }
  BuiltDeck built = std::move(assembly.built());
  if (situation.stage == Stage::rectifier) {
    add_rectifier_meters(rig, built);
  }
  add_shunts(rig, situation, built);
  tie_islands(built);
  check_deck(built.deck);
  return built;
}

namespace {

/// Does the key, or the drive, change what the tube draws between key up and key down?
bool changes_with_key(const core::Part& part) {
  const auto* tube = std::get_if<core::PowerTube>(&part.data);
  return tube != nullptr && (tube->driven || tube->key != core::TubeKey::none);
}

}  // namespace

std::vector<Stage> stages_of(const core::Rig& rig) {
  std::vector<Stage> stages;
  std::vector<bool> before;
  Situation situation;
  for (const Stage stage : {Stage::transformer, Stage::rectifier, Stage::filter, Stage::tubes_out,
                            Stage::heaters, Stage::key_up, Stage::key_down}) {
    situation.stage = stage;
    std::vector<bool> in = parts_in(rig, situation);
    for (std::size_t i = 0; i < rig.parts.size(); ++i) {
      in.push_back(stage == Stage::key_down && in[i] && changes_with_key(rig.parts[i]));
    }
    if (stages.empty() || in != before) {
      stages.push_back(stage);
    }
    before = std::move(in);
  }
  return stages;
}

}  // namespace firstglow::netlists
