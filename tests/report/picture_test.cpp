/// @file
/// Can a picture carry text of a record into a drawing program, or markup of one into the page?

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "sim/report/sheet/helper_program.hpp"
#include "sim/report/sheet/plot.hpp"
#include "sim/report/sheet/rig_drawing.hpp"
#include "sim/report/sheet/svg_picture.hpp"
#include "tests/report/sample_results.hpp"

namespace firstglow::sim {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

constexpr const char* kShell = "`id` \"; system('x') <b>\\n\n$(id)";

std::string shown_svg(const std::string& svg, const PictureLabels& labels = {}) {
  const auto made = svg_for_page(svg, labels, {"p", "Title", "Words"});
  return made ? made->html : "none";
}

TEST(PictureLabels, ComeBackFromTheirPlaceholders) {
  PictureLabels labels;
  const std::string first = labels.placeholder(kShell);
  const std::string second = labels.placeholder("B+");
  EXPECT_EQ(first.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789"), std::string::npos)
      << first;
  EXPECT_FALSE(first.empty());
  EXPECT_EQ(labels.words_of(first), kShell);
  EXPECT_EQ(labels.words_of(second), "B+");
  EXPECT_FALSE(labels.words_of("k7n"));
  EXPECT_FALSE(labels.words_of("k0"));
  EXPECT_FALSE(labels.words_of("k0nx"));
}

TEST(SvgPicture, KeepsShapesAndDropsEverythingThatActs) {
  const std::string page = shown_svg(
      "<?xml version=\"1.0\"?><!DOCTYPE svg><svg viewBox=\"0 0 10 10\" onload=\"x()\">"
      "<style>@import url(x)</style><script>x()</script><foreignObject><p>x</p></foreignObject>"
      "<a href=\"https://x\"><path d=\"M0 0\"/></a><use xlink:href=\"https://x\"/>"
      "<path d=\"M1,1 L2,2\" style=\"stroke: black; fill:none\" onclick=\"x()\"/></svg>");
  EXPECT_THAT(page, HasSubstr("d=\"M1,1 L2,2\" stroke=\"currentColor\" fill=\"none\""));
  for (const char* word : {"script", "style", "import", "foreign", "https", "onload", "onclick"}) {
    EXPECT_THAT(page, Not(HasSubstr(word)));
  }
  EXPECT_THAT(page, HasSubstr("role=\"img\""));
  EXPECT_THAT(page, HasSubstr("<title id=\"p-title\">Title</title>"));
}

TEST(SvgPicture, ShowsWordsOfARecordAsTextAndUnknownTextNotAtAll) {
  PictureLabels labels;
  const std::string mark = labels.placeholder("<b>B+</b>");
  const std::string page = shown_svg("<svg viewBox=\"0 0 1 1\"><text>" + mark +
                                         "</text><text> -1.5 </text><text>stray</text></svg>",
                                     labels);
  EXPECT_THAT(page, HasSubstr("&lt;b&gt;B+&lt;/b&gt;"));
  EXPECT_THAT(page, HasSubstr("-1.5"));
  EXPECT_THAT(page, Not(HasSubstr("stray")));
}

TEST(SvgPicture, MakesIdsUniqueOnThePage) {
  const std::string page = shown_svg(
      "<svg viewBox=\"0 0 1 1\"><defs><circle id=\"dot\" r=\"1\"/></defs><use "
      "xlink:href=\"#dot\"/></svg>");
  EXPECT_THAT(page, HasSubstr("id=\"p-dot\""));
  EXPECT_THAT(page, HasSubstr("href=\"#p-dot\""));
}

TEST(SvgPicture, IsNoneWhenTheDrawingIsNoSvg) {
  EXPECT_EQ(shown_svg("gnuplot: out of ink"), "none");
  EXPECT_EQ(shown_svg("<svg viewBox=\"0 0 x\"></svg>"), "none");
  const Markup place = figure({"p", "Title", "Words"}, std::nullopt, "dot is not installed");
  EXPECT_THAT(place.html, HasSubstr("No picture here: dot is not installed."));
}

TEST(Plot, ScriptHoldsNoTextOfARecord) {
  Plot plot;
  plot.words = {"p", kShell, kShell};
  plot.x_label = plot.y_label = kShell;
  plot.curves = {{kShell, CurveStyle::line, {1.0, 2.0}, {3.0, 4.0}, {}},
                 {kShell, CurveStyle::band, {1.0}, {3.0}, {4.0}}};
  plot.marks = {{3.5, false, kShell}, {1.5, true, kShell}};
  PictureLabels labels;
  const std::string script = plot_script(plot, labels);
  EXPECT_THAT(script, Not(HasSubstr("`")));
  EXPECT_THAT(script, Not(HasSubstr("system")));
  EXPECT_THAT(script, Not(HasSubstr("$(")));
  EXPECT_THAT(script, HasSubstr("1 3\n2 4\n"));
}

TEST(Plot, ThinnedCurveKeepsItsPeak) {
  PlotCurve curve;
  for (int i = 0; i < 10000; ++i) {
    curve.x.push_back(i);
    curve.y.push_back(i == 4321 ? 592.0 : 1.0);
  }
  thin_out(curve, 100);
  EXPECT_LE(curve.x.size(), 100U);
  EXPECT_DOUBLE_EQ(*std::max_element(curve.y.begin(), curve.y.end()), 592.0);
  EXPECT_EQ(curve.x.size(), curve.y.size());
}

TEST(RigDrawing, GraphHoldsEveryNodeAndPartButNoTextOfTheRecord) {
  core::Rig rig = test::demo_rig();
  for (core::Part& part : rig.parts) {
    part.designator += kShell;
  }
  PictureLabels labels;
  const std::string graph =
      drawing_graph(rig, worst_volts(rig, {}), labels, DrawingLabels::two_lines);
  EXPECT_THAT(graph, Not(HasSubstr("`")));
  EXPECT_THAT(graph, Not(HasSubstr("system")));
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    EXPECT_THAT(graph, HasSubstr("\np" + std::to_string(i) + " [label="));
  }
  for (std::size_t i = 1; i < rig.nodes.size(); ++i) {
    EXPECT_THAT(graph, HasSubstr("\nn" + std::to_string(i) + " [label="));
  }
}

TEST(HelperProgram, AnswersOrSaysWhyNot) {
  EXPECT_EQ(ask_helper({"cat", {}, "what goes in"}).output, "what goes in");
  EXPECT_THAT(ask_helper({"no-such-program-here", {}, ""}).failure, HasSubstr("not installed"));
  EXPECT_THAT(ask_helper({"false", {}, ""}).failure, HasSubstr("ended with code 1"));
}

TEST(HelperProgram, IsEndedAtItsDeadline) {
  HelperCall call{"sleep", {"30"}, ""};
  call.deadline = std::chrono::milliseconds(100);
  const auto start = std::chrono::steady_clock::now();
  EXPECT_THAT(ask_helper(call).failure, HasSubstr("no answer"));
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(5));
}

TEST(HelperProgram, SeesNoEnvironmentOfTheUser) {
  ::setenv("FIRSTGLOW_SECRET", "x", 1);
  const std::string environment = ask_helper({"env", {}, ""}).output;
  EXPECT_THAT(environment, HasSubstr("HOME=/nonexistent"));
  EXPECT_THAT(environment, Not(HasSubstr("FIRSTGLOW_SECRET")));
}

}  // namespace
}  // namespace firstglow::sim
