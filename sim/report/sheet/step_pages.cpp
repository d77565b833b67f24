#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/cautions.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/sheet/sheet_blanks.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/sheet/step_columns.hpp"
#include "sim/report/sheet/step_gates.hpp"

namespace firstglow::sim {
namespace {

using netlists::Stage;

/// One pass with everything that is filled in on it.
struct PassPage {
  const RampPass& pass;
  const PassBlanks& blanks;
  std::vector<Tick> gates;
  std::vector<const StepBlanks*> steps;
};

const char* setup_words(Stage stage) {
  switch (stage) {
    case Stage::transformer:
      return "Set up: the transformer alone, every secondary lifted and taped.";
    case Stage::rectifier:
      return "Set up: rectifiers back in, everything behind them lifted.";
    case Stage::filter:
      return "Set up: chokes, capacitors, bleeders and equalisers back in. Cover the cans.";
    case Stage::tubes_out:
      return "Set up: droppers and dividers back in, all tubes out of their sockets but those of "
             "the rectifier.";
    case Stage::heaters:
      return "Set up: tubes in, heaters lit, nothing else drawing: plate and screen feeds off.";
    case Stage::key_up:
      return "Set up: everything in, key up, no drive.";
    case Stage::key_down:
      break;
  }
  return "Set up: everything in, into the dummy load, key down only as long as a reading takes.";
}

std::string stop_words(const Blank& blank) {
  std::string words;
  if (blank.stop_below) {
    words += "below " + significant(*blank.stop_below);
  }
  if (blank.stop_above) {
    words += (words.empty() ? "over " : ", over ") + significant(*blank.stop_above);
  }
  return words;
}

/// "min, nominal, max" in a column of its own words.
std::string band_cell(const std::optional<double>& value) {
  return value ? significant(*value) : "?";
}

/// Expected, the blank, and when to stop, one above the other.
Markup matrix_cell(const Blank* blank) {
  Html html;
  if (blank == nullptr) {
    html.element("span", "no prediction", {{"class", "expected"}});
    return html.take();
  }
  html.open("span", {{"class", "expected"}});
  html.text(band_cell(blank->low) + " ")
      .element("b", band_cell(blank->expected))
      .text(" " + band_cell(blank->high))
      .close();
  html.paste({blank_html(*blank, LabelPlace::hidden)});
  if (const std::string stop = stop_words(*blank); !stop.empty()) {
    html.element("span", "STOP " + stop, {{"class", "stop"}});
  }
  return html.take();
}

Markup step_head(const StepBlanks& step, std::size_t number) {
  Html html;
  html.element("span", fmt::format("{}.", number), {{"class", "step"}}).text(" ");
  html.element("span", fmt::format("{} V", plain(step.variac_vrms)), {{"class", "turn"}});
  if (step.setting) {
    html.paste({blank_html(*step.setting, LabelPlace::hidden)});
  }
  return html.take();
}

/// The row of a step that must not be taken.
std::vector<HtmlCell> closed_row(const StepBlanks& step, std::size_t number, std::size_t columns) {
  std::vector<HtmlCell> cells{HtmlCell(step_head(step, number))};
  cells.emplace_back((step.refused ? "NOT THIS STEP: " : "NO PREDICTION, do not go there: ") +
                     step.failure);
  while (cells.size() < columns + 1) {
    cells.emplace_back("-");
  }
  return cells;
}

void put_ladder(Html& html, const PassPage& page, const std::vector<WatchedReading>& watched) {
  std::vector<HtmlColumn> columns{{"Turn to; volts as read", HtmlColumnKind::blank}};
  for (const WatchedReading& reading : watched) {
    columns.push_back({reading.heading, HtmlColumnKind::blank});
  }
  HtmlTable table("Each cell: min, nominal, max; your reading; when to pull the plug", columns);
  for (std::size_t i = 0; i < page.steps.size(); ++i) {
    const StepBlanks& step = *page.steps[i];
    if (!step.failure.empty()) {
      table.row(closed_row(step, i + 1, watched.size()));
      continue;
    }
    std::vector<HtmlCell> cells{HtmlCell(step_head(step, i + 1))};
    for (const WatchedReading& reading : watched) {
      cells.emplace_back(matrix_cell(find_blank(step, reading_id(page.pass, step, reading.tail))));
    }
    table.row(std::move(cells));
  }
  html.open("div", {{"class", "ladder"}}).table(table).close();
}

bool is_watched(const PassPage& page, const StepBlanks& step,
                const std::vector<WatchedReading>& watched, const Blank& blank) {
  return std::any_of(watched.begin(), watched.end(), [&](const WatchedReading& reading) {
    return reading_id(page.pass, step, reading.tail) == blank.id;
  });
}

/// Everything else, once, at the last step.
void put_rest(Html& html, const PassPage& page, const StepBlanks& step,
              const std::vector<WatchedReading>& watched) {
  HtmlTable table(fmt::format("At {} V also, before you turn back", plain(step.variac_vrms)),
                  {{"Meter: red lead there, black on the chassis"},
                   {"min", HtmlColumnKind::number},
                   {"nominal", HtmlColumnKind::number},
                   {"max", HtmlColumnKind::number},
                   {"reading", HtmlColumnKind::blank},
                   {"STOP"}});
  for (const Blank& blank : step.readings) {
    if (!is_watched(page, step, watched, blank)) {
      table.row({blank.label, band_cell(blank.low), band_cell(blank.expected),
                 band_cell(blank.high), Markup{blank_html(blank, LabelPlace::hidden)},
                 stop_words(blank)});
    }
  }
  html.open("div", {{"class", "rest"}}).table(table).close();
  for (const Words& words : step.words) {
    html.open("p").paste({words_html(words)}).close();
  }
}

void put_ticks(Html& html, const std::string& heading, const std::vector<Tick>& ticks) {
  html.element("h4", heading).open("ul", {{"class", "ticks"}});
  for (const Tick& tick : ticks) {
    html.open("li").paste({tick_html(tick)}).close();
  }
  html.close();
}

/// The highest volts a meter sees on this page, with the ripple on top.
double highest_volts(const RampPass& pass) {
  double highest_v = 0.0;
  for (const RampStep& step : pass.steps) {
    for (const NodeReading& node : step.nodes) {
      highest_v = std::max({highest_v, std::abs(node.dc_v.low) + node.ripple_vpp / 2.0,
                            std::abs(node.dc_v.high) + node.ripple_vpp / 2.0});
    }
  }
  return highest_v;
}

void put_how(Html& html, const PassPage& page) {
  html.paragraph(setup_words(page.pass.stage));
  html.paragraph(page.pass.with_lamp ? "The lamp is in series with the mains, before the variac."
                                     : "No lamp: only after every reading with the lamp was "
                                       "inside its band.");
  html.list({fmt::format("Clip the meters on with the plug out. Meter and leads rated above {}.",
                         with_unit(std::ceil(highest_volts(page.pass) / 10.0) * 10.0, "V")),
             "Plug in. Turn to the step. Wait 10 s, until every reading stands still.",
             "Read. Write. All inside their bands: next step. One outside: back to 0, plug out, "
             "find out why.",
             "Past a STOP, a reading that still climbs after 10 s, smell, sound, smoke: pull the "
             "plug first."},
            "ol");
}

void put_remarks(Html& html, const RampPass& pass) {
  std::vector<std::string> lines;
  for (const RampStep& step : pass.steps) {
    for (const std::string& remark : step.remarks) {
      lines.push_back(fmt::format("{} V: {}.", plain(step.variac_vrms), remark));
    }
  }
  html.list(lines, "ul", {{"class", "remarks"}});
}

void put_signatures(Html& html, const PassBlanks& blanks) {
  html.open("p", {{"class", "signatures"}});
  for (const Words& words : blanks.words) {
    html.paste({words_html(words)});
  }
  html.close();
}

std::string lamp_words(const RampupResult& rampup, Stage stage) {
  for (const LampAdvice& lamp : rampup.lamps) {
    if (lamp.stage == stage && lamp.suggested) {
      return fmt::format("lamp {} in series", with_unit(lamp.rated_watts, "W"));
    }
  }
  return "lamp in series";
}

std::string page_id(const PassBlanks& blanks) {
  return "step-" + html_id(blanks.stage) + (blanks.with_lamp ? "-lamp" : "-full");
}

std::string page_title(const RampupResult& rampup, const PassBlanks& blanks) {
  const netlists::Stage stage = rampup.passes[blanks.pass].stage;
  return fmt::format("Step page {}: {}, {}", blanks.pass + 1, netlists::stage_words(stage),
                     blanks.with_lamp ? lamp_words(rampup, stage) : "no lamp");
}

void put_pass(Html& html, const PassPage& page, const std::string& title) {
  begin_page(html, {page_id(page.blanks), title}, "page stage");
  const auto last = std::find_if(page.steps.rbegin(), page.steps.rend(),
                                 [](const StepBlanks* step) { return step->failure.empty(); });
  put_how(html, page);
  put_ticks(html, "Tick before the first step", page.gates);
  put_remarks(html, page.pass);
  if (last == page.steps.rend()) {
    html.element("p", "NO PREDICTION for any step of this stage. Do not go there.",
                 {{"class", "verdict bad"}});
  } else {
    const RampStep& step = page.pass.steps[(*last)->step];
    const std::vector<WatchedReading> watched = columns_of_pass(page.pass, step);
    put_ladder(html, page, watched);
    put_rest(html, page, **last, watched);
  }
  html.open("div", {{"class", "end"}});
  put_ticks(html, "End of the stage, before a hand goes near", page.blanks.end);
  put_signatures(html, page.blanks);
  html.close().close();
}

void put_contents(Html& html, const RampupResult& rampup, const std::vector<PassBlanks>& passes) {
  html.open("ul", {{"class", "contents"}});
  for (const PassBlanks& blanks : passes) {
    html.open("li").element("a", page_title(rampup, blanks), {{"href", "#" + page_id(blanks)}});
    html.close();
  }
  html.close();
}

void put_overview(Html& html, const RampupResult& rampup, const std::vector<PassBlanks>& passes) {
  begin_page(html, {"steps", "Step pages"});
  html.list({"One page a stage, first with the lamp, then without. In this order, none left out.",
             "The operator does and reads aloud. The watcher checks the page, repeats the number, "
             "and has the cut-off in reach.",
             "Both sign each page. A page that is not whole is not signed.",
             "Between two pages: plug out, wait, measure, resistor, measure, hook."});
  HtmlTable lamps("Lamp for each stage", {{"Stage"},
                                          {"Lamp, W", HtmlColumnKind::number},
                                          {"Good rig: % of its watts", HtmlColumnKind::number},
                                          {"Short: % of its watts", HtmlColumnKind::number}});
  for (const LampAdvice& lamp : rampup.lamps) {
    if (lamp.suggested) {
      lamps.row({netlists::stage_words(lamp.stage), plain(lamp.rated_watts),
                 fmt::format("{:.0f}", lamp.good_percent),
                 fmt::format("{:.0f}", lamp.short_percent)});
    }
  }
  html.table(lamps);
  put_contents(html, rampup, passes);
  html.close();
}

}  // namespace

Markup step_pages(const SheetInput& input) {
  Html html;
  if (!input.answers.rampup.result) {
    begin_page(html, {"steps", "Step pages"});
    put_no_answer(html, input.answers.rampup.failure);
    html.close();
    return html.take();
  }
  const RampupResult& rampup = *input.answers.rampup.result;
  const std::vector<StepBlanks> steps = step_blanks(rampup);
  const std::vector<PassBlanks> passes = pass_blanks(rampup);
  put_overview(html, rampup, passes);
  for (const PassBlanks& blanks : passes) {
    const RampPass& pass = rampup.passes[blanks.pass];
    PassPage page{pass, blanks, stage_gates(input.rig, rampup, pass), {}};
    page.gates.insert(page.gates.end(), blanks.gates.begin(), blanks.gates.end());
    for (const StepBlanks& step : steps) {
      if (step.pass == blanks.pass) {
        page.steps.push_back(&step);
      }
    }
    put_pass(html, page, page_title(rampup, blanks));
  }
  return html.take();
}

}  // namespace firstglow::sim
