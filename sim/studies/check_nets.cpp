#include <fmt/format.h>

#include <utility>

#include "sim/studies/check_words.hpp"

namespace firstglow::sim {
namespace {

using Ends = std::vector<std::pair<core::NodeIndex, std::string>>;

/// The ends of one part: node, and the end in words (empty when both ends are alike).
struct EndsOf {
  static Ends winding(const std::string& prefix, const core::Winding& winding) {
    Ends ends;
    for (std::size_t i = 0; i < winding.nodes.size(); ++i) {
      std::string word = fmt::format("tap {}", i);
      if (i == 0) {
        word = "end 1";
      } else if (i + 1 == winding.nodes.size()) {
        word = "end 2";
      }
      ends.emplace_back(winding.nodes[i], fmt::format("{} {}", prefix, word));
    }
    return ends;
  }
  Ends operator()(const core::MainsInlet& p) const {
    return {{p.line, "line"}, {p.neutral, "neutral"}};
  }
  Ends operator()(const core::Variac& p) const {
    return {{p.input, "input"}, {p.output, "output"}, {p.common, "common"}};
  }
  Ends operator()(const core::PowerTransformer& p) const {
    Ends ends = winding("primary", p.primary);
    for (const core::Winding& secondary : p.secondaries) {
      const Ends more = winding(secondary.name, secondary);
      ends.insert(ends.end(), more.begin(), more.end());
    }
    return ends;
  }
  Ends operator()(const core::SiliconDiode& p) const {
    return {{p.anode, "anode"}, {p.cathode, "cathode"}};
  }
  Ends operator()(const core::VacuumRectifier& p) const {
    return {{p.plate_1, "plate 1"},
            {p.plate_2, "plate 2"},
            {p.cathode, "cathode"},
            {p.heater.a, "heater 1"},
            {p.heater.b, "heater 2"}};
  }
  Ends operator()(const core::GasRectifier& p) const {
    return {{p.plate, "plate"},
            {p.cathode, "cathode"},
            {p.heater.a, "heater 1"},
            {p.heater.b, "heater 2"}};
  }
  Ends operator()(const core::SeleniumRectifier& p) const {
    return {{p.anode, "anode"}, {p.cathode, "cathode"}};
  }
  Ends operator()(const core::PowerTube& p) const {
    return {{p.plate, "plate"}, {p.screen, "screen"}, {p.grid, "grid"}, {p.cathode, "cathode"}};
  }
  template <class Part>
  Ends operator()(const Part& p) const {
    if constexpr (requires { p.plus; }) {
      return {{p.plus, "plus"}, {p.minus, "minus"}};
    } else {
      return {{p.a, ""}, {p.b, ""}};
    }
  }
};

}  // namespace

std::vector<NetLine> net_lines(const core::Rig& rig) {
  std::vector<NetLine> nets;
  for (const core::Node& node : rig.nodes) {
    nets.push_back(NetLine{node.name, {}});
  }
  for (const core::Part& part : rig.parts) {
    for (const auto& [node, word] : std::visit(EndsOf{}, part.data)) {
      if (node != core::kOpenNode) {
        nets[static_cast<std::size_t>(node)].ends.push_back(
            word.empty() ? part.designator : part.designator + " " + word);
      }
    }
  }
  return nets;
}

}  // namespace firstglow::sim
