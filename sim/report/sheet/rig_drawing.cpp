#include "sim/report/sheet/rig_drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "sim/report/part_words.hpp"
#include "sim/report/sheet/helper_program.hpp"

namespace firstglow::sim {
namespace {

/// Ink and line of a class: fill, width of the frame, its dashes. The words stand in the node too.
struct ClassLook {
  const char* fill;
  const char* frame;
};

ClassLook look_of(VoltClass volt_class) {
  switch (volt_class) {
    case VoltClass::above_600:
      return {"#f4a7a0", "penwidth=4 peripheries=2"};
    case VoltClass::from_60:
      return {"#f7d08a", "penwidth=3"};
    case VoltClass::from_42:
      return {"#f5eeb0", "penwidth=2"};
    case VoltClass::mains:
      return {"#d8b8e8", "penwidth=4 style=\"filled,rounded,dashed\""};
    case VoltClass::unknown:
      return {"#ffffff", "penwidth=4 style=\"filled,rounded,dotted\""};
    case VoltClass::below_42:
      break;
  }
  return {"#dfe8ee", "penwidth=1"};
}

bool is_value_part(const core::Part& part) {
  return std::holds_alternative<core::Resistor>(part.data) ||
         std::holds_alternative<core::Capacitor>(part.data) ||
         std::holds_alternative<core::Choke>(part.data) ||
         std::holds_alternative<core::ResistiveLoad>(part.data) ||
         std::holds_alternative<core::CurrentLoad>(part.data);
}

/// "47 kohm measured, marked 50 kohm" -> "47 kohm": what a box has room for.
std::string short_value(const std::string& line) {
  const auto first = line.find(' ');
  return line.substr(0, first == std::string::npos ? first : line.find(' ', first + 1));
}

/// "R3", below it its value or kind, below that the chassis when it ends there.
std::string part_label(const core::Rig& rig, const core::Part& part, PictureLabels& labels) {
  const PartWords words = part_words(rig, part);
  std::string label = labels.placeholder(part.designator) + "\\n";
  const std::string kind = part.type.empty() ? words.kind : part.type;
  label += labels.placeholder(
      is_value_part(part) && !words.lines.empty() ? short_value(words.lines.front()) : kind);
  const std::vector<core::NodeIndex> ends = core::terminals(part);
  if (std::find(ends.begin(), ends.end(), core::kChassis) != ends.end()) {
    label += "\\n" + labels.placeholder("to " + rig.node_name(core::kChassis));
  }
  return label;
}

/// The nodes that power comes from, as far as the kind of part tells: drawn above it.
std::vector<core::NodeIndex> nodes_above(const core::Part& part) {
  if (const auto* transformer = std::get_if<core::PowerTransformer>(&part.data)) {
    return transformer->primary.nodes;
  }
  const std::vector<core::NodeIndex> ends = core::terminals(part);
  if (std::holds_alternative<core::MainsInlet>(part.data) || ends.empty()) {
    return {};
  }
  return {ends.front()};
}

class GraphWriter {
 public:
  GraphWriter(const core::Rig& rig, PictureLabels& labels) : rig_(rig), labels_(labels) {}

  void node(std::size_t index, const NodeVolts& volts) {
    const ClassLook look = look_of(volts.volt_class);
    text_ += fmt::format(
        "n{} [label=\"{}\\n{}\" shape=box style=\"filled,rounded\" fillcolor=\"{}\" "
        "fontcolor=\"#111111\" color=\"#555555\" {}];\n",
        index, labels_.placeholder(volts.node), labels_.placeholder(class_words(volts.volt_class)),
        look.fill, look.frame);
  }

  void part(std::size_t index, const core::Part& part) {
    text_ += fmt::format("p{} [label=\"{}\" shape=box style=\"\" color=\"#000000\"];\n", index,
                         part_label(rig_, part, labels_));
    const std::vector<core::NodeIndex> above = nodes_above(part);
    std::set<core::NodeIndex> ends;
    for (const core::NodeIndex end : core::terminals(part)) {
      if (end == core::kOpenNode || end == core::kChassis || !ends.insert(end).second) {
        continue;
      }
      const bool comes_in = std::find(above.begin(), above.end(), end) != above.end();
      text_ += comes_in ? fmt::format("n{} -- p{};\n", end, index)
                        : fmt::format("p{} -- n{};\n", index, end);
    }
  }

  [[nodiscard]] std::string take() { return std::move(text_); }

 private:
  const core::Rig& rig_;
  PictureLabels& labels_;
  std::string text_;
};

}  // namespace

std::string drawing_graph(const core::Rig& rig, const std::vector<NodeVolts>& worst,
                          PictureLabels& labels) {
  GraphWriter writer(rig, labels);
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    const auto found = std::find_if(worst.begin(), worst.end(), [&](const NodeVolts& volts) {
      return volts.node == rig.nodes[i].name;
    });
    NodeVolts unknown;
    unknown.node = rig.nodes[i].name;
    writer.node(i, found == worst.end() ? unknown : *found);
  }
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    writer.part(i, rig.parts[i]);
  }
  return "graph {\nnode [fontname=\"sans-serif\" fontsize=18 margin=\"0.06,0.03\" width=0.3 "
         "height=0.3];\nedge [penwidth=1.5];\nrankdir=TB;\nranksep=0.3;\nnodesep=0.12;\n" +
         writer.take() + "}\n";
}

Markup rig_drawing(const core::Rig& rig, const std::vector<NodeVolts>& worst) {
  const PictureWords words{
      "drawing", "The supply as recorded.",
      "Plain boxes are parts, rounded boxes are the nodes they join, with the class of volts in "
      "words; the heavier the frame, the higher the volts; dashed: mains side. The same stands in "
      "the tables below and in the list of parts. It shows what the record says, not the wire."};
  PictureLabels labels;
  const HelperAnswer answer = ask_helper({"dot", {"-Tsvg"}, drawing_graph(rig, worst, labels)});
  if (!answer.failure.empty()) {
    return figure(words, std::nullopt, answer.failure);
  }
  return figure(words, svg_for_page(answer.output, labels, words),
                "dot drew something else than a picture");
}

}  // namespace firstglow::sim
