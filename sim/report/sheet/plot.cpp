#include "sim/report/sheet/plot.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/error.hpp"
#include "sim/report/sheet/helper_program.hpp"

namespace firstglow::sim {
namespace {

constexpr int kWide = 760, kHigh = 440;
/// Seen on white and on black paper; black itself is the colour of the page's text.
constexpr std::array<const char*, 5> kInks{"#000000", "#2a78d0", "#c8501e", "#2e8b57", "#8a5fc0"};

std::string number(double value) {
  FIRSTGLOW_REQUIRE(std::isfinite(value), "a plotted number is finite");
  return fmt::format("{:.6g}", value);
}

std::string range(const char* axis, const std::optional<std::pair<double, double>>& ends) {
  return ends
             ? fmt::format("set {}range [{}:{}]\n", axis, number(ends->first), number(ends->second))
             : std::string();
}

std::string data_block(std::size_t index, const PlotCurve& curve) {
  FIRSTGLOW_REQUIRE(curve.x.size() == curve.y.size(), "a curve has a y for each x");
  const bool band = curve.style == CurveStyle::band;
  FIRSTGLOW_REQUIRE(!band || curve.y_high.size() == curve.y.size(), "a band has both edges");
  std::string block = fmt::format("$d{} << EOD\n", index);
  for (std::size_t i = 0; i < curve.x.size(); ++i) {
    block += number(curve.x[i]) + " " + number(curve.y[i]);
    block += band ? " " + number(curve.y_high[i]) + "\n" : "\n";
  }
  return block + "EOD\n";
}

std::string mark_lines(const Plot& plot, PictureLabels& labels) {
  std::string text;
  for (const PlotMark& mark : plot.marks) {
    const std::string at = number(mark.at);
    text += mark.upright
                ? fmt::format("set arrow from first {0}, graph 0 to first {0}, graph 1", at)
                : fmt::format("set arrow from graph 0, first {0} to graph 1, first {0}", at);
    text += " nohead front lw 2 dt (8,5) lc rgb \"#000000\"\n";
    const std::string words = labels.placeholder(mark.words);
    text += mark.upright
                ? fmt::format(
                      "set label \"{}\" at first {}, graph 0.03 left rotate by 90 offset "
                      "character -0.8,0 front\n",
                      words, at)
                : fmt::format(
                      "set label \"{}\" at graph {}, first {} {} offset character 0,0.6 front\n",
                      words, mark.left ? "0.02" : "0.99", at, mark.left ? "left" : "right");
  }
  return text;
}

std::string plot_of(std::size_t index, const PlotCurve& curve, std::size_t ink,
                    PictureLabels& labels) {
  const std::string title = curve.name.empty()
                                ? std::string("notitle")
                                : fmt::format("title \"{}\"", labels.placeholder(curve.name));
  const char* colour = kInks.at(ink % kInks.size());
  switch (curve.style) {
    case CurveStyle::band:
      return fmt::format(
          "$d{} using 1:2:3 with filledcurves fs transparent solid 0.22 lc rgb \"{}\" {}", index,
          colour, title);
    case CurveStyle::marked:
      return fmt::format("$d{} using 1:2 with linespoints lw 2 dt {} pt {} ps 0.9 lc rgb \"{}\" {}",
                         index, ink % 5 + 1, 2 * (ink % 6) + 4, colour, title);
    case CurveStyle::line:
      break;
  }
  return fmt::format("$d{} using 1:2 with lines lw 2.5 dt {} lc rgb \"{}\" {}", index, ink % 5 + 1,
                     colour, title);
}

}  // namespace

std::string plot_script(const Plot& plot, PictureLabels& labels) {
  std::string script = fmt::format(
      "set terminal svg size {},{} noenhanced font \"sans-serif,18\"\nset key outside below\n"
      "set grid\nset border 3\nset tics nomirror\nset samples 2\nset format y \"%g\"\n"
      "set format x \"%g\"\n",
      kWide, kHigh);
  script += plot.log_x ? "set logscale x\n" : "";
  script += plot.log_y ? "set logscale y\n" : "";
  script += range("x", plot.x_range) + range("y", plot.y_range);
  script += fmt::format("set xlabel \"{}\"\n", labels.placeholder(plot.x_label));
  script += fmt::format("set ylabel \"{}\"\n", labels.placeholder(plot.y_label));
  script += mark_lines(plot, labels);
  std::string plots;
  std::size_t ink = 0;
  for (std::size_t i = 0; i < plot.curves.size(); ++i) {
    script += data_block(i, plot.curves[i]);
    plots += (plots.empty() ? "" : ", ") + plot_of(i, plot.curves[i], ink, labels);
    if (plot.curves[i].style != CurveStyle::band) {
      ++ink;  // a band has the ink of the line that follows it
    }
  }
  return script + "plot " + plots + "\n";
}

Markup plotted(const Plot& plot) {
  const bool nothing = std::all_of(plot.curves.begin(), plot.curves.end(),
                                   [](const PlotCurve& curve) { return curve.x.empty(); });
  if (nothing) {
    return figure(plot.words, std::nullopt, "nothing was computed that could be drawn");
  }
  PictureLabels labels;
  const HelperAnswer answer = ask_helper({"gnuplot", {"-d", "-"}, plot_script(plot, labels)});
  if (!answer.failure.empty()) {
    return figure(plot.words, std::nullopt, answer.failure);
  }
  return figure(plot.words, svg_for_page(answer.output, labels, plot.words),
                "gnuplot drew something else than a picture");
}

void thin_out(PlotCurve& curve, std::size_t most) {
  if (curve.x.size() <= most) {
    return;
  }
  // Two points of each stretch, its lowest and its highest in their order: no peak is lost.
  const std::size_t stretches = most / 2;
  PlotCurve thin;
  for (std::size_t k = 0; k < stretches; ++k) {
    const std::size_t from = k * curve.y.size() / stretches;
    const std::size_t to = (k + 1) * curve.y.size() / stretches;
    const auto first = curve.y.begin() + static_cast<std::ptrdiff_t>(from);
    const auto ends = std::minmax_element(first, curve.y.begin() + static_cast<std::ptrdiff_t>(to));
    auto low = static_cast<std::size_t>(ends.first - curve.y.begin());
    auto high = static_cast<std::size_t>(ends.second - curve.y.begin());
    if (low > high) {
      std::swap(low, high);
    }
    for (const std::size_t i : {low, high}) {
      thin.x.push_back(curve.x[i]);
      thin.y.push_back(curve.y[i]);
    }
  }
  curve.x = std::move(thin.x);
  curve.y = std::move(thin.y);
}

}  // namespace firstglow::sim
