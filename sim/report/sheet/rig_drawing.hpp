#pragma once
/// @file
/// How does the supply look, drawn from the record: which part joins which nodes, at what volts?

#include <vector>

#include "sim/report/sheet/html.hpp"
#include "sim/report/sheet/svg_picture.hpp"
#include "sim/report/sheet/volt_class.hpp"

namespace firstglow::sim {

/// Names in one line make a drawing low and wide, in two high and narrow.
enum class DrawingLabels { one_line, two_lines };

/// The graph of the rig for the layout program: a box for each part, a rounded box for each node
/// with its class in words, the chassis named in each part that ends there. No text of the
/// record is in it, only placeholders.
[[nodiscard]] std::string drawing_graph(const core::Rig& rig, const std::vector<NodeVolts>& worst,
                                        PictureLabels& labels, DrawingLabels lines);

/// The drawing, of the two that which a page shows larger; or in its place the reason why there is
/// none.
[[nodiscard]] Markup rig_drawing(const core::Rig& rig, const std::vector<NodeVolts>& worst);

}  // namespace firstglow::sim
