#include "sim/report/sheet/rig_drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <cstring>
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

/// Two words beside or below each other. A text of the drawing is one placeholder or none.
std::string joined(PictureLabels& labels, DrawingLabels lines, const std::string& first,
                   const std::string& second) {
  return lines == DrawingLabels::one_line
             ? labels.placeholder(first + ", " + second)
             : labels.placeholder(first) + "\\n" + labels.placeholder(second);
}

/// "R3" and its value or kind, below that the chassis when it ends there.
std::string part_label(const core::Rig& rig, const core::Part& part, PictureLabels& labels,
                       DrawingLabels lines) {
  const PartWords words = part_words(rig, part);
  const std::string kind = part.type.empty() ? words.kind : part.type;
  std::string label =
      joined(labels, lines, part.designator,
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
  GraphWriter(const core::Rig& rig, PictureLabels& labels, DrawingLabels lines)
      : rig_(rig), labels_(labels), lines_(lines) {}

  void node(std::size_t index, const NodeVolts& volts) {
    const ClassLook look = look_of(volts.volt_class);
    text_ += fmt::format(
        "n{} [label=\"{}\" shape=box style=\"filled,rounded\" fillcolor=\"{}\" "
        "fontcolor=\"#111111\" color=\"#555555\" {}];\n",
        index, joined(labels_, lines_, volts.node, class_words(volts.volt_class)), look.fill,
        look.frame);
  }

  void part(std::size_t index, const core::Part& part) {
    text_ += fmt::format("p{} [label=\"{}\" shape=box style=\"\" color=\"#000000\"];\n", index,
                         part_label(rig_, part, labels_, lines_));
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
  DrawingLabels lines_;
  std::string text_;
};

/// How large a drawing comes out on a page of 185 mm by 225 mm, over its own size; 0 when it does
/// not say its size.
double page_scale(const std::string& svg) {
  const auto points = [&svg](const char* mark) {
    const auto found = svg.find(mark);
    return found == std::string::npos
               ? 0.0
               : std::strtod(svg.c_str() + found + std::strlen(mark), nullptr);
  };
  const double wide_pt = points("<svg width=\""), high_pt = points(" height=\"");
  constexpr double kPointsPerMm = 72.0 / 25.4;
  return wide_pt > 0.0 && high_pt > 0.0
             ? std::min(185.0 * kPointsPerMm / wide_pt, 225.0 * kPointsPerMm / high_pt)
             : 0.0;
}

}  // namespace

std::string drawing_graph(const core::Rig& rig, const std::vector<NodeVolts>& worst,
                          PictureLabels& labels, DrawingLabels lines) {
  GraphWriter writer(rig, labels, lines);
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
         "height=0.3];\nedge [penwidth=1.5];\nrankdir=TB;\nranksep=0.2;\nnodesep=0.12;\n" +
         writer.take() + "}\n";
}

Markup rig_drawing(const core::Rig& rig, const std::vector<NodeVolts>& worst) {
  const PictureWords words{
      "drawing", "The supply as recorded.",
      "Plain boxes are parts, rounded boxes are the nodes they join, with the class of volts in "
      "words; the heavier the frame, the higher the volts; dashed: mains side. The same stands in "
      "the tables below and in the list of parts. It shows what the record says, not the wire."};
  std::optional<Markup> largest;
  double largest_scale = 0.0;
  for (const DrawingLabels lines : {DrawingLabels::two_lines, DrawingLabels::one_line}) {
    PictureLabels labels;
    const HelperAnswer answer =
        ask_helper({"dot", {"-Tsvg"}, drawing_graph(rig, worst, labels, lines)});
    if (!answer.failure.empty()) {
      return figure(words, std::nullopt, answer.failure);
    }
    const double scale = page_scale(answer.output);
    if (scale > largest_scale) {
      largest_scale = scale;
      largest = svg_for_page(answer.output, labels, words);
    }
  }
  return figure(words, largest, "dot drew something else than a picture");
}

}  // namespace firstglow::sim
