#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/cautions.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/sheet/sheet_blanks.hpp"
#include "sim/report/sheet/sheet_pages.hpp"
#include "sim/report/sheet/step_gates.hpp"

namespace firstglow::sim {
namespace {

using netlists::Stage;

/// Readings of the columns of a stage; the others are read at its last step only.
constexpr std::size_t kMostColumns = 4;
/// Of the supplies that stand this close to the highest, the one with the least ripple is watched.
constexpr double kNearHighest = 0.75;

/// One pass with everything that is filled in on it.
struct PassPage {
  const RampPass& pass;
  const PassBlanks& blanks;
  std::vector<Tick> gates;
  std::vector<const StepBlanks*> steps;
  std::size_t number = 0;
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

std::string reading_id(const RampPass& pass, const StepBlanks& step,
                       const std::vector<std::string>& tail) {
  std::vector<std::string> parts = pass_id(pass);
  parts.push_back(plain(step.variac_vrms));
  parts.insert(parts.end(), tail.begin(), tail.end());
  return blank_id(parts);
}

const Blank* find_blank(const StepBlanks& step, const std::string& id) {
  const auto found = std::find_if(step.readings.begin(), step.readings.end(),
                                  [&id](const Blank& blank) { return blank.id == id; });
  return found == step.readings.end() ? nullptr : &*found;
}

/// A reading that is taken on every step: its heading and the end of its ids.
struct WatchedReading {
  std::string heading;
  std::vector<std::string> tail;
};

bool is_joint(const RampStep& step, const std::string& node) {
  return std::any_of(step.midpoints.begin(), step.midpoints.end(),
                     [&node](const MidpointReading& joint) { return joint.node == node; });
}

/// The supply to watch: near the highest, with the least ripple; nullptr while there is none.
const NodeReading* watched_supply(const RampStep& step) {
  double highest_v = 0.0;
  for (const NodeReading& node : step.nodes) {
    highest_v = node.main_dc ? std::max(highest_v, std::abs(node.dc_v.nominal)) : highest_v;
  }
  const NodeReading* best = nullptr;
  for (const NodeReading& node : step.nodes) {
    if (node.main_dc && highest_v > 0.0 && !is_joint(step, node.node) &&
        std::abs(node.dc_v.nominal) >= kNearHighest * highest_v &&
        (best == nullptr || node.ripple_vpp < best->ripple_vpp)) {
      best = &node;
    }
  }
  return best;
}

/// The supply of the other polarity (bias), which has to be there before plate volts.
const NodeReading* other_supply(const RampStep& step, const NodeReading& watched) {
  const NodeReading* best = nullptr;
  for (const NodeReading& node : step.nodes) {
    if (node.main_dc && node.dc_v.nominal * watched.dc_v.nominal < 0.0 &&
        (best == nullptr || node.ripple_vpp < best->ripple_vpp)) {
      best = &node;
    }
  }
  return best;
}

const NodeReading* highest_ac(const RampStep& step) {
  const auto most = std::max_element(
      step.nodes.begin(), step.nodes.end(),
      [](const NodeReading& a, const NodeReading& b) { return a.ac_vrms < b.ac_vrms; });
  return most == step.nodes.end() ? nullptr : &*most;
}

std::vector<WatchedReading> columns_of_pass(const RampPass& pass, const RampStep& step) {
  std::vector<WatchedReading> columns{{"Mains, A true rms", {"mains-A"}}};
  if (pass.with_lamp) {
    columns.push_back({"Across the lamp, V AC", {"lamp-V"}});
  } else {
    columns.push_back({"Mains, W", {"mains-W"}});
  }
  if (const NodeReading* supply = watched_supply(step)) {
    columns.push_back({supply->node + ", V DC", {supply->node, "dc"}});
    if (!step.midpoints.empty()) {
      const std::string& joint = step.midpoints.front().node;
      columns.push_back({joint + " (joint), V DC", {joint, "dc"}});
    } else if (const NodeReading* other = other_supply(step, *supply)) {
      columns.push_back({other->node + ", V DC", {other->node, "dc"}});
    }
  } else if (const NodeReading* end = highest_ac(step)) {
    columns.push_back({end->node + ", V AC", {end->node, "ac"}});
  }
  columns.resize(std::min(columns.size(), kMostColumns));
  return columns;
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

void put_pass(Html& html, const PassPage& page, const std::string& lamp) {
  const std::string title =
      fmt::format("Step page {}: {}, {}", page.number, netlists::stage_words(page.pass.stage),
                  page.pass.with_lamp ? lamp : "no lamp");
  begin_page(
      html,
      {"step-" + html_id(page.blanks.stage) + (page.pass.with_lamp ? "-lamp" : "-full"), title},
      "page stage");
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
  put_ticks(html, "End of the stage, before a hand goes near", page.blanks.end);
  put_signatures(html, page.blanks);
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

void put_overview(Html& html, const RampupResult& rampup) {
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
  put_overview(html, rampup);
  const std::vector<StepBlanks> steps = step_blanks(rampup);
  const std::vector<PassBlanks> passes = pass_blanks(rampup);
  for (const PassBlanks& blanks : passes) {
    const RampPass& pass = rampup.passes[blanks.pass];
    PassPage page{pass, blanks, stage_gates(input.rig, rampup, pass), {}, blanks.pass + 1};
    page.gates.insert(page.gates.end(), blanks.gates.begin(), blanks.gates.end());
    for (const StepBlanks& step : steps) {
      if (step.pass == blanks.pass) {
        page.steps.push_back(&step);
      }
    }
    put_pass(html, page, lamp_words(rampup, page.pass.stage));
  }
  return html.take();
}

}  // namespace firstglow::sim
