#include "sim/report/sheet/blank.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "sim/report/sheet/html_text.hpp"

namespace firstglow::sim {
namespace {

using Json = nlohmann::ordered_json;

bool stands_in_id(char c) {
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') ||
         std::string_view("+-_.()").find(c) != std::string_view::npos;
}

std::string attribute(const char* name, std::string_view value) {
  return fmt::format(" {}=\"{}\"", name, html_text(value));
}

std::string attribute(const char* name, const std::optional<double>& value) {
  return value ? fmt::format(" {}=\"{}\"", name, *value) : std::string();
}

void put(Json& json, const char* key, const std::optional<double>& value) {
  if (value) {
    json[key] = *value;
  }
}

const char* kind_key(DerivedCheck::Kind kind) {
  switch (kind) {
    case DerivedCheck::Kind::per:
      return "per";
    case DerivedCheck::Kind::share:
      return "share";
    case DerivedCheck::Kind::times:
      break;
  }
  return "times";
}

std::string checks_attribute(const std::vector<DerivedCheck>& checks) {
  if (checks.empty()) {
    return {};
  }
  Json all = Json::array();
  for (const DerivedCheck& check : checks) {
    Json json{{"kind", kind_key(check.kind)}, {"label", check.label}, {"unit", check.unit},
              {"other", check.other},         {"base", check.base},   {"why", check.stop_why}};
    put(json, "low", check.limits.low);
    put(json, "high", check.limits.high);
    put(json, "stop_below", check.limits.stop_below);
    put(json, "stop_above", check.limits.stop_above);
    all.push_back(std::move(json));
  }
  return attribute("data-checks", all.dump(-1, ' ', true, Json::error_handler_t::replace));
}

std::string label_html(const std::string& id, const std::string& label, LabelPlace place) {
  return fmt::format("<label class=\"{}\" for=\"blank-{}\">{}</label>",
                     place == LabelPlace::shown ? "blank-label" : "blank-label heard-only",
                     html_text(id), html_text(label));
}

std::string data_attributes(const Blank& blank) {
  std::string text = attribute("data-blank", blank.id) + attribute("data-label", blank.label) +
                     attribute("data-unit", blank.unit) + attribute("data-low", blank.low) +
                     attribute("data-expected", blank.expected) +
                     attribute("data-high", blank.high) +
                     attribute("data-stop-below", blank.stop_below) +
                     attribute("data-stop-above", blank.stop_above);
  if (!blank.stop_why.empty()) {
    text += attribute("data-stop-why", blank.stop_why);
  }
  return text + checks_attribute(blank.checks) + (blank.judged ? "" : " data-setting=\"\"");
}

}  // namespace

std::string blank_id(const std::vector<std::string>& parts) {
  std::string id;
  for (const std::string& part : parts) {
    id += id.empty() ? "" : "/";
    for (const char c : part) {
      id += stands_in_id(c) ? std::string(1, c)
                            : fmt::format("%{:02X}", static_cast<unsigned char>(c));
    }
  }
  return id;
}

ReadingLimits limits_of(const Blank& blank) {
  return {blank.low, blank.expected, blank.high, blank.stop_below, blank.stop_above};
}

std::string blank_html(const Blank& blank, LabelPlace label) {
  const std::string id = html_text(blank.id);
  return fmt::format(
      "<span class=\"blank\">{}<span class=\"blank-entry\"><input id=\"blank-{}\" type=\"text\" "
      "inputmode=\"decimal\" autocomplete=\"off\" spellcheck=\"false\" maxlength=\"40\" "
      "aria-describedby=\"mark-{}\"{}><span class=\"blank-unit\">{}</span></span>"
      "<span class=\"mark\" id=\"mark-{}\" role=\"status\" aria-live=\"polite\"></span></span>",
      label_html(blank.id, blank.label, label), id, id, data_attributes(blank),
      html_text(blank.unit), id);
}

std::string tick_html(const Tick& tick) {
  return fmt::format("<span class=\"tick\"><input type=\"checkbox\" id=\"blank-{}\"{}>{}</span>",
                     html_text(tick.id),
                     attribute("data-tick", tick.id) + attribute("data-label", tick.label),
                     label_html(tick.id, tick.label, LabelPlace::shown));
}

std::string words_html(const Words& words, LabelPlace label) {
  const std::string data = attribute("data-words", words.id) + attribute("data-label", words.label);
  const std::string field =
      words.lines > 1
          ? fmt::format("<textarea id=\"blank-{}\" rows=\"{}\" maxlength=\"2000\"{}>{}</textarea>",
                        html_text(words.id), words.lines, data, html_text(words.value))
          : fmt::format(
                "<input type=\"text\" id=\"blank-{}\" autocomplete=\"off\" maxlength=\"120\"{}{}>",
                html_text(words.id), data, attribute("value", words.value));
  return fmt::format("<span class=\"{}\">{}{}</span>", words.lines > 1 ? "notes" : "words",
                     label_html(words.id, words.label, label), field);
}

}  // namespace firstglow::sim
