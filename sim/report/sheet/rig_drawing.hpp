#pragma once
/// @file
/// How does the supply look, drawn from the record: which part joins which nodes, at what volts?

#include <vector>

#include "sim/report/sheet/html.hpp"
#include "sim/report/sheet/svg_picture.hpp"
#include "sim/report/sheet/volt_class.hpp"

namespace firstglow::sim {

/// The graph of the rig for the layout program: a box for each part, a rounded box for each node
/// with its class in words, the chassis named in each part that ends there. No text of the
/// record is in it, only placeholders.
[[nodiscard]] std::string drawing_graph(const core::Rig& rig, const std::vector<NodeVolts>& worst,
                                        PictureLabels& labels);

/// The drawing, or in its place the reason why there is none.
[[nodiscard]] Markup rig_drawing(const core::Rig& rig, const std::vector<NodeVolts>& worst);

}  // namespace firstglow::sim
