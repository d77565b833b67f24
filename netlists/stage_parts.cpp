#include "netlists/stage_parts.hpp"

#include <algorithm>
#include <optional>

#include "netlists/node_groups.hpp"
#include "netlists/part_kinds.hpp"

namespace firstglow::netlists {
namespace {

using core::kChassis;
using core::kOpenNode;
using core::NodeIndex;

std::size_t at(NodeIndex node) { return static_cast<std::size_t>(node); }

class StageChooser {
 public:
  explicit StageChooser(const core::Rig& rig)
      : rig_(rig), in_(rig.parts.size(), false), mains_side_(rig.nodes.size(), false) {
    find_mains_side();
  }

  std::vector<bool> choose(Stage last) {
    for (const Stage stage : {Stage::transformer, Stage::rectifier, Stage::filter, Stage::tubes_out,
                              Stage::heaters, Stage::key_up, Stage::key_down}) {
      if (stage > last) {
        break;
      }
      for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
        const core::Part& part = rig_.parts[i];
        if (is_path_part(part)) {
          in_[i] = in_[i] || stage >= Stage::tubes_out;
        } else {
          in_[i] = anchored_at(part, stage);
        }
      }
      add_path_parts();
      add_returns();
    }
    return in_;
  }

 private:
  void find_mains_side() {
    NodeGroups groups(rig_.nodes.size());
    for (const core::Part& part : rig_.parts) {
      std::vector<NodeIndex> joined;
      if (const auto* iron = std::get_if<core::PowerTransformer>(&part.data)) {
        joined = iron->primary.nodes;
      } else if (is_path_part(part) || std::holds_alternative<core::SeriesLamp>(part.data) ||
                 std::holds_alternative<core::Variac>(part.data)) {
        joined = core::terminals(part);
      }
      std::erase(joined, kChassis);
      join_all(groups, joined);
    }
    const core::MainsInlet& inlet = rig_.mains();
    for (std::size_t n = 1; n < rig_.nodes.size(); ++n) {
      mains_side_[n] = (inlet.line > kChassis && groups.same(n, at(inlet.line))) ||
                       (inlet.neutral > kChassis && groups.same(n, at(inlet.neutral)));
    }
  }

  [[nodiscard]] bool on_mains_side(const core::Part& part) const {
    bool some = false;
    for (const NodeIndex node : core::terminals(part)) {
      if (node == kOpenNode || (node != kChassis && !mains_side_[at(node)])) {
        return false;
      }
      some = some || node != kChassis;
    }
    return some;
  }

  [[nodiscard]] bool across_a_diode(const core::Part& part) const {
    std::vector<NodeIndex> ends = core::terminals(part);
    std::sort(ends.begin(), ends.end());
    return std::any_of(rig_.parts.begin(), rig_.parts.end(), [&](const core::Part& other) {
      const std::vector<core::RectifierPath> paths = core::rectifier_paths(other);
      return std::any_of(paths.begin(), paths.end(), [&](const core::RectifierPath& path) {
        return ends == std::vector<NodeIndex>{std::min(path.anode, path.cathode),
                                              std::max(path.anode, path.cathode)};
      });
    });
  }

  [[nodiscard]] bool anchored_at(const core::Part& part, Stage stage) const {
    if (const auto* load = std::get_if<core::ResistiveLoad>(&part.data)) {
      return draws_at(load->when, stage);
    }
    if (const auto* load = std::get_if<core::CurrentLoad>(&part.data)) {
      return draws_at(load->when, stage);
    }
    return stage >= first_stage(part);
  }

  [[nodiscard]] Stage first_stage(const core::Part& part) const {
    if (!core::rectifier_paths(part).empty()) {
      return Stage::rectifier;
    }
    if (std::holds_alternative<core::Choke>(part.data)) {
      return Stage::filter;
    }
    if (std::holds_alternative<core::Heater>(part.data)) {
      return Stage::heaters;
    }
    if (std::holds_alternative<core::VrTube>(part.data)) {
      return Stage::tubes_out;
    }
    if (std::holds_alternative<core::PowerTube>(part.data)) {
      return Stage::key_up;
    }
    if (const auto* capacitor = std::get_if<core::Capacitor>(&part.data)) {
      if (on_mains_side(part)) {
        return Stage::transformer;
      }
      return is_filter_capacitor(*capacitor) ? Stage::filter : Stage::tubes_out;
    }
    if (const auto* resistor = std::get_if<core::Resistor>(&part.data)) {
      if (on_mains_side(part)) {
        return Stage::transformer;
      }
      const bool equalises = resistor->role == core::ResistorRole::equaliser;
      return equalises && across_a_diode(part) ? Stage::rectifier : Stage::filter;
    }
    return Stage::transformer;
  }

  /// Nodes touched by parts that are in.
  [[nodiscard]] std::vector<bool> touched() const {
    std::vector<bool> nodes(rig_.nodes.size(), false);
    for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
      for (const NodeIndex node : core::terminals(rig_.parts[i])) {
        if (in_[i] && node != kOpenNode) {
          nodes[at(node)] = true;
        }
      }
    }
    return nodes;
  }

  /// Adds every chain of path parts that runs between two nodes already touched: starts with all
  /// of them and takes dangling ones away until nothing dangles.
  void add_path_parts() {
    const std::vector<bool> anchored = touched();
    std::vector<bool> stays(rig_.parts.size(), false);
    for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
      const std::vector<NodeIndex> ends = core::terminals(rig_.parts[i]);
      const bool open = std::count(ends.begin(), ends.end(), kOpenNode) > 0;
      const bool to_chassis = std::count(ends.begin(), ends.end(), kChassis) > 0;
      const bool a_load = to_chassis && is_series_resistor(rig_.parts[i]);
      stays[i] = is_path_part(rig_.parts[i]) && !in_[i] && !open && !a_load;
    }
    for (bool changed = true; changed;) {
      changed = false;
      std::vector<int> ends_at(rig_.nodes.size(), 0);
      for_each_end(stays, [&](std::size_t, NodeIndex node) { ++ends_at[at(node)]; });
      std::vector<bool> dangling(rig_.parts.size(), false);
      for_each_end(stays, [&](std::size_t part, NodeIndex node) {
        dangling[part] =
            dangling[part] || (node != kChassis && !anchored[at(node)] && ends_at[at(node)] < 2);
      });
      for (std::size_t i = 0; i < stays.size(); ++i) {
        changed = changed || dangling[i];
        stays[i] = stays[i] && !dangling[i];
      }
    }
    for (std::size_t i = 0; i < stays.size(); ++i) {
      in_[i] = in_[i] || stays[i];
    }
  }

  template <class Visit>
  void for_each_end(const std::vector<bool>& chosen, Visit visit) const {
    for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
      if (chosen[i]) {
        for (const NodeIndex node : core::terminals(rig_.parts[i])) {
          visit(i, node);
        }
      }
    }
  }

  /// Groups of nodes joined by the parts that are in (diodes included, capacitors not).
  [[nodiscard]] NodeGroups islands() const {
    NodeGroups groups(rig_.nodes.size());
    for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
      const core::Part& part = rig_.parts[i];
      if (!in_[i] || std::holds_alternative<core::Capacitor>(part.data) ||
          std::holds_alternative<core::PowerTube>(part.data)) {
        continue;
      }
      if (const auto* iron = std::get_if<core::PowerTransformer>(&part.data)) {
        join_all(groups, iron->primary.nodes);
        for (const core::Winding& winding : iron->secondaries) {
          join_all(groups, winding.nodes);
        }
      } else {
        join_all(groups, core::terminals(part));
      }
    }
    return groups;
  }

  static void join_all(NodeGroups& groups, const std::vector<NodeIndex>& nodes) {
    std::optional<NodeIndex> first;
    for (const NodeIndex node : nodes) {
      if (node != kOpenNode) {
        groups.join(at(first.value_or(node)), at(node));
        first = first.value_or(node);
      }
    }
  }

  /// One return to the chassis for each island that has none.
  void add_returns() {
    for (;;) {
      NodeGroups groups = islands();
      const std::vector<bool> nodes = touched();
      std::optional<std::size_t> best;
      for (std::size_t i = 0; i < rig_.parts.size(); ++i) {
        const std::optional<double> ohm = return_ohm(rig_.parts[i]);
        if (in_[i] || !ohm || !joins_island(rig_.parts[i], groups, nodes)) {
          continue;
        }
        if (!best || *ohm < *return_ohm(rig_.parts[*best])) {
          best = i;
        }
      }
      if (!best) {
        return;
      }
      in_[*best] = true;
    }
  }

  /// Does the part run from the chassis to a touched island off the mains side without a return?
  [[nodiscard]] bool joins_island(const core::Part& part, NodeGroups& groups,
                                  const std::vector<bool>& nodes) const {
    const std::vector<NodeIndex> ends = core::terminals(part);
    if (ends.size() != 2 || (ends[0] != kChassis) == (ends[1] != kChassis)) {
      return false;
    }
    const NodeIndex far = ends[0] == kChassis ? ends[1] : ends[0];
    return far != kOpenNode && nodes[at(far)] && !mains_side_[at(far)] &&
           !groups.same(at(far), at(kChassis));
  }

  const core::Rig& rig_;
  std::vector<bool> in_;
  std::vector<bool> mains_side_;
};

}  // namespace

std::vector<bool> stage_parts(const core::Rig& rig, Stage stage) {
  return StageChooser(rig).choose(stage);
}

}  // namespace firstglow::netlists
