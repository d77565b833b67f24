#pragma once
/// @file
/// How is a curve drawn?

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/report/sheet/svg_picture.hpp"

namespace firstglow::sim {

enum class CurveStyle {
  line,
  marked,  ///< line with a mark on each point
  band     ///< between y and y_high
};

struct PlotCurve {
  std::string name;  ///< in the key; empty: not in the key
  CurveStyle style = CurveStyle::line;
  std::vector<double> x, y, y_high;
};

/// A straight line across the picture with a word on it: a limit, an instant.
struct PlotMark {
  double at = 0.0;
  bool upright = false;  ///< at this x instead of this y
  std::string words;
  bool left = false;  ///< the words stand at the left end of the line
};

struct Plot {
  PictureWords words;
  std::string x_label, y_label;
  bool log_x = false, log_y = false;
  std::optional<std::pair<double, double>> x_range, y_range;
  std::vector<PlotCurve> curves;
  std::vector<PlotMark> marks;
};

/// The script of the plotting program: numbers, placeholders and fixed words, nothing else.
/// Curves are told apart by dashes as well as by colour.
/// @throws ContractError  when a number is not finite or the columns of a curve differ in length.
[[nodiscard]] std::string plot_script(const Plot& plot, PictureLabels& labels);

/// The picture, or in its place the reason why there is none.
[[nodiscard]] Markup plotted(const Plot& plot);

/// At most `most` points of a curve, highest and lowest of each stretch kept.
void thin_out(PlotCurve& curve, std::size_t most = 400);

}  // namespace firstglow::sim
