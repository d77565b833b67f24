#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"
#include "sim/report/sheet/blank.hpp"
#include "sim/report/sheet/sheet_pages.hpp"

namespace firstglow::sim {
namespace {

constexpr int kChangeRows = 8;

Markup words_blank(std::vector<std::string> id, const std::string& label, bool long_text = false) {
  id.insert(id.begin(), "as-left");
  return {words_html({blank_id(id), label, long_text ? 3 : 1, ""}, LabelPlace::hidden)};
}

/// The last step of the heaviest stage without lamp; nullptr when none has a prediction.
const RampStep* final_step(const RampupResult& rampup, netlists::Stage& stage) {
  const RampStep* last = nullptr;
  for (const RampPass& pass : rampup.passes) {
    if (!pass.with_lamp && !pass.steps.empty() && pass.steps.back().failure.empty()) {
      last = &pass.steps.back();
      stage = pass.stage;
    }
  }
  return last;
}

void put_readings(Html& html, const RampupResult& rampup) {
  netlists::Stage stage = netlists::Stage::transformer;
  const RampStep* step = final_step(rampup, stage);
  if (step == nullptr) {
    html.element("p", "NO PREDICTION of the final readings.", {{"class", "verdict bad"}});
    return;
  }
  HtmlTable table(fmt::format("Readings as left: {}, {} V", netlists::stage_words(stage),
                              plain(step->variac_vrms)),
                  {{"Reading"},
                   {"min", HtmlColumnKind::number},
                   {"nominal", HtmlColumnKind::number},
                   {"max", HtmlColumnKind::number},
                   {"as left", HtmlColumnKind::blank}});
  const auto row = [&table](const std::string& name, const Band& band) {
    table.row({name, significant(band.low), significant(band.nominal), significant(band.high),
               words_blank({"reading", name}, name + ", as left")});
  };
  row("Mains, A", step->mains_a);
  row("Mains, W", step->mains_w);
  for (const NodeReading& node : step->nodes) {
    if (node.main_dc) {
      row(node.node + " to chassis, V DC", node.dc_v);
    }
  }
  html.table(table);
}

void put_changes(Html& html) {
  HtmlTable table("Parts changed", {{"No.", HtmlColumnKind::number},
                                    {"Part, old value and maker's mark", HtmlColumnKind::blank},
                                    {"New part, why", HtmlColumnKind::blank},
                                    {"By whom", HtmlColumnKind::blank}});
  for (int i = 1; i <= kChangeRows; ++i) {
    const std::string number = fmt::format("{}", i);
    table.row({number, words_blank({"change", number, "old"}, "Change " + number + ", old part"),
               words_blank({"change", number, "new"}, "Change " + number + ", new part"),
               words_blank({"change", number, "by"}, "Change " + number + ", by whom")});
  }
  html.table(table);
}

void put_state(Html& html) {
  HtmlTable table("How it stands now", {{"What"}, {"Written here", HtmlColumnKind::blank}});
  const auto row = [&table](const char* id, const char* label, bool long_text = false) {
    table.row({label, words_blank({id}, label, long_text)});
  };
  row("hours", "Hours run, and at what load");
  row("bleed", "Seconds to the discharge limit, measured");
  row("open", "Still open: what the next person must know", true);
  row("old-parts", "Old parts kept where");
  row("operator", "Operator: name, date, signature");
  row("watcher", "Watcher: name, date, signature");
  row("accepted", "Accepted for the file: name, date");
  html.table(table);
}

}  // namespace

Markup as_left_page(const SheetInput& input) {
  Html html;
  begin_page(html, {"as-left", "As left"});
  html.paragraph(
      fmt::format("{}. For the file of the rig; copy it before it goes away.", input.rig.name));
  if (input.answers.rampup.result) {
    put_readings(html, *input.answers.rampup.result);
  } else {
    put_no_answer(html, input.answers.rampup.failure);
  }
  put_changes(html);
  put_state(html);
  html.close();
  return html.take();
}

namespace {

template <class Result>
void put_assumptions(Html& html, const char* title, const Answered<Result>& answered) {
  if (answered.result && !answered.result->assumptions.empty()) {
    html.element("h3", title).list(answered.result->assumptions);
  }
}

}  // namespace

Markup assumptions_page(const SheetInput& input) {
  Html html;
  begin_page(html, {"assumed", "What was assumed"});
  html.list(
      {"The parts are as the record file says, within tolerance, and wired as it says. A "
       "reading outside its band means: stop, plug out, find out why.",
       "Limits stand with their source and can be replaced by your own. Local code and "
       "licensed practice come before all of them."});
  put_assumptions(html, "Readings on the step pages", input.answers.rampup);
  put_assumptions(html, "Margins", input.answers.margins);
  put_assumptions(html, "Discharge", input.answers.bleed);
  put_assumptions(html, "Stick", input.answers.stick);
  put_assumptions(html, "Inrush", input.answers.inrush);
  put_assumptions(html, "Stacks of cans", input.answers.stacks);
  html.element("h3", "Re-forming").list(input.answers.reform.assumptions);
  html.close();
  return html.take();
}

}  // namespace firstglow::sim
