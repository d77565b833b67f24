#include "sim/report/sheet/sheet.hpp"

#include <fmt/format.h>

#include <functional>
#include <vector>

#include "sim/report/cautions.hpp"
#include "sim/report/sheet/at_once.hpp"
#include "sim/report/sheet/content_policy.hpp"
#include "sim/report/sheet/sheet_assets.hpp"
#include "sim/report/sheet/sheet_pages.hpp"

namespace firstglow::sim {
namespace {

/// Said at the top of every page; the whole cautions stand on the first.
constexpr const char* kShortCaution =
    "This kills, also minutes after the plug is out. Never alone. One hand. Clip the meter on "
    "dead. "
    "Off is not discharged: plug out, wait, measure, resistor, measure, hook. Local code and a "
    "licensed person come before every number. Predicted; your meter decides.";

template <class Result>
bool unanswered(const Answered<Result>& answered) {
  return !answered.result;
}

void put_contents(Html& html, const SheetInput& input) {
  html.open("nav", {{"aria-label", "Pages"}}).open("ol");
  for (const PageName& name : page_names(input)) {
    html.open("li").element("a", name.title, {{"href", "#" + name.id}}).close();
  }
  html.close().close();
}

void put_head(Html& html, const SheetInput& input, const std::string& styles,
              const std::string& script) {
  html.open("head");
  html.paste({"<meta charset=\"utf-8\">\n"});
  html.paste({fmt::format("<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n",
                          content_policy({styles}, {script}))});
  html.paste(
      {"<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
       "<meta name=\"color-scheme\" content=\"light dark\">\n"
       "<meta name=\"referrer\" content=\"no-referrer\">\n"});
  html.element("title", fmt::format("{}: bench sheet", input.rig.name));
  html.open("style").paste({styles}).close();
  html.close();
}

void put_body(Html& html, const SheetInput& input, const std::string& script) {
  html.open("body");
  html.element("a", "Skip to the front page", {{"class", "skip"}, {"href", "#front"}});
  html.paste({sheet_facts_html(input.facts)});
  html.open("div", {{"id", "readings-bar"}}).close();
  put_contents(html, input);
  html.open("main");
  std::vector<std::function<Markup()>> pages;
  for (const auto page :
       {front_page, volts_page, dead_page, step_pages, picture_page, discharge_page, margins_page,
        parts_page, tags_page, as_left_page, assumptions_page}) {
    pages.emplace_back([page, &input] { return page(input); });
  }
  for (const Markup& page : made_at_once(pages)) {
    html.paste(page);
  }
  html.close();
  html.open("script").paste({script}).close();
  html.close();
}

}  // namespace

std::vector<PageName> page_names(const SheetInput& /*input*/) {
  return {{"front", "Front page"},
          {"volts", "Where the volts are"},
          {"dead", "Dead checks before power"},
          {"steps", "Step pages"},
          {"pictures", "What to expect, as pictures"},
          {"discharge", "After switch-off"},
          {"margins", "Margins"},
          {"parts", "Parts"},
          {"tags", "Tags and stickers"},
          {"as-left", "As left"},
          {"assumed", "What was assumed"}};
}

void begin_page(Html& html, const PageName& name, const char* classes) {
  html.open("section",
            {{"class", classes}, {"id", name.id}, {"aria-labelledby", name.id + "-title"}});
  html.element("h2", name.title, {{"id", name.id + "-title"}});
  html.element("p", kShortCaution, {{"class", "caution"}});
}

void put_no_answer(Html& html, const std::string& failure) {
  html.element("p", fmt::format("NO ANSWER here: {}. Treat what is missing as dangerous.", failure),
               {{"class", "verdict bad"}});
}

std::string sheet_html(const SheetInput& input) {
  const std::string styles = std::string(tablet_styles()) + std::string(sheet_styles());
  const std::string script(tablet_script());
  Html html;
  html.paste({"<!DOCTYPE html>\n"}).open("html", {{"lang", "en"}});
  put_head(html, input, styles, script);
  put_body(html, input, script);
  html.close();
  return html.take().html;
}

core::Verdict sheet_verdict(const SheetAnswers& answers) {
  const core::Verdict worst = core::worst_verdict(sheet_findings(answers));
  const bool missing = unanswered(answers.rampup) || unanswered(answers.margins) ||
                       unanswered(answers.bleed) || unanswered(answers.stick) ||
                       unanswered(answers.inrush) || unanswered(answers.stacks);
  return missing && worst == core::Verdict::safe ? core::Verdict::no_verdict : worst;
}

}  // namespace firstglow::sim
