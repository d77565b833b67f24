#include "sim/report/sheet/svg_picture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <pugixml.hpp>

#include "sim/report/shown_text.hpp"

namespace firstglow::sim {
namespace {

constexpr std::array<std::string_view, 12> kElements{"g",       "path",    "rect", "circle",
                                                     "ellipse", "polygon", "line", "polyline",
                                                     "text",    "tspan",   "use",  "defs"};
constexpr std::array<std::string_view, 34> kAttributes{"d",
                                                       "points",
                                                       "x",
                                                       "y",
                                                       "x1",
                                                       "y1",
                                                       "x2",
                                                       "y2",
                                                       "cx",
                                                       "cy",
                                                       "r",
                                                       "rx",
                                                       "ry",
                                                       "width",
                                                       "height",
                                                       "transform",
                                                       "fill",
                                                       "stroke",
                                                       "stroke-width",
                                                       "stroke-dasharray",
                                                       "color",
                                                       "stroke-opacity",
                                                       "opacity",
                                                       "fill-opacity",
                                                       "stroke-linecap",
                                                       "text-anchor",
                                                       "stroke-linejoin",
                                                       "font-size",
                                                       "font-family",
                                                       "font-weight",
                                                       "font-style",
                                                       "dx",
                                                       "dy",
                                                       "fill-rule"};

template <class List>
bool is_in(const List& list, std::string_view word) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

std::string without_spaces(std::string_view text) {
  std::string kept;
  std::copy_if(text.begin(), text.end(), std::back_inserter(kept),
               [](char letter) { return letter != ' ' && letter != '\n' && letter != '\t'; });
  return kept;
}

/// Numbers as they stand on an axis.
bool is_number(std::string_view text) {
  return !text.empty() && text.find_first_not_of("0123456789.,+-eE") == std::string_view::npos;
}

/// Black becomes the colour of the page's text; white paper becomes the page.
std::string colour_on_page(const std::string& colour) {
  std::string plain = without_spaces(colour);
  if (plain == "black" || plain == "#000000" || plain == "rgb(0,0,0)") {
    return "currentColor";
  }
  if (plain == "white" || plain == "#ffffff" || plain == "rgb(255,255,255)" ||
      plain == "transparent") {
    return "none";
  }
  return plain;
}

class PageWriter {
 public:
  PageWriter(const PictureLabels& labels, const std::string& id) : labels_(labels), id_(id) {}

  void children(const pugi::xml_node& from, Html& to) const {
    for (const pugi::xml_node& node : from.children()) {
      if (node.type() == pugi::node_pcdata || node.type() == pugi::node_cdata) {
        words(node.value(), to);
      } else if (node.type() == pugi::node_element && is_in(kElements, node.name())) {
        to.open(name_of(node.name()), attributes(node));
        children(node, to);
        to.close();
      }
    }
  }

 private:
  /// The name from our own list, which outlives the document.
  static const char* name_of(std::string_view name) {
    return std::find(kElements.begin(), kElements.end(), name)->data();
  }

  void words(const char* value, Html& to) const {
    const std::string text = without_spaces(value);
    if (const auto label = labels_.words_of(text)) {
      to.text(*label);
    } else if (is_number(text)) {
      to.text(text);
    }
  }

  void attribute(std::string_view name, const std::string& value,
                 std::vector<Attribute>& kept) const {
    if (name == "fill" || name == "stroke" || name == "color") {
      kept.push_back(
          {std::find(kAttributes.begin(), kAttributes.end(), name)->data(), colour_on_page(value)});
    } else if (is_in(kAttributes, name)) {
      kept.push_back({std::find(kAttributes.begin(), kAttributes.end(), name)->data(), value});
    } else if (name == "id") {
      kept.push_back({"id", id_ + "-" + html_id(value)});
    } else if ((name == "xlink:href" || name == "href") && value.starts_with('#')) {
      kept.push_back({"href", "#" + id_ + "-" + html_id(value.substr(1))});
    }
  }

  /// "fill: none; stroke: black" as attributes of their own.
  void style(std::string_view text, std::vector<Attribute>& kept) const {
    while (!text.empty()) {
      const auto end = std::min(text.find(';'), text.size());
      const std::string_view pair = text.substr(0, end);
      if (const auto colon = pair.find(':'); colon != std::string_view::npos) {
        attribute(without_spaces(pair.substr(0, colon)), std::string(pair.substr(colon + 1)), kept);
      }
      text.remove_prefix(std::min(end + 1, text.size()));
    }
  }

  [[nodiscard]] std::vector<Attribute> attributes(const pugi::xml_node& node) const {
    std::vector<Attribute> kept;
    for (const pugi::xml_attribute& one : node.attributes()) {
      if (std::string_view(one.name()) == "style") {
        style(one.value(), kept);
      } else {
        attribute(one.name(), one.value(), kept);
      }
    }
    return kept;
  }

  const PictureLabels& labels_;
  const std::string& id_;
};

}  // namespace

std::string PictureLabels::placeholder(std::string_view words) {
  std::string mark = fmt::format("k{}n", words_.size());
  const auto wide = static_cast<std::size_t>(columns_of(shown(words, {true, 80})));
  mark.append(wide > mark.size() ? wide - mark.size() : 0, 'n');
  words_.emplace_back(words);
  return mark;
}

std::optional<std::string> PictureLabels::words_of(std::string_view placeholder) const {
  if (placeholder.size() < 3 || placeholder.front() != 'k') {
    return std::nullopt;
  }
  std::size_t index = 0;
  const char* end = placeholder.data() + placeholder.size();
  const auto read = std::from_chars(placeholder.data() + 1, end, index);
  const bool padded =
      read.ptr != end && std::all_of(read.ptr, end, [](char letter) { return letter == 'n'; });
  if (read.ec != std::errc() || !padded || index >= words_.size()) {
    return std::nullopt;
  }
  return words_[index];
}

std::optional<Markup> svg_for_page(const std::string& svg, const PictureLabels& labels,
                                   const PictureWords& words) {
  pugi::xml_document document;
  if (!document.load_buffer(svg.data(), svg.size(), pugi::parse_default, pugi::encoding_utf8)) {
    return std::nullopt;
  }
  const pugi::xml_node root = document.child("svg");
  const std::string box = root.attribute("viewBox").value();
  if (!root || box.find_first_not_of("0123456789.- ") != std::string::npos || box.empty()) {
    return std::nullopt;
  }
  Html html;
  html.open("svg", {{"viewBox", box},
                    {"role", "img"},
                    {"aria-labelledby", words.id + "-title " + words.id + "-words"}});
  html.element("title", words.title, {{"id", words.id + "-title"}});
  html.element("desc", words.description, {{"id", words.id + "-words"}});
  PageWriter(labels, words.id).children(root, html);
  html.close();
  return html.take();
}

Markup figure(const PictureWords& words, const std::optional<Markup>& svg,
              const std::string& why_not) {
  Html html;
  html.open("figure", {{"id", words.id}});
  if (svg) {
    html.paste(*svg);
  } else {
    html.element("p", fmt::format("No picture here: {}.", why_not), {{"class", "missing"}});
  }
  html.open("figcaption").element("strong", words.title).text(" ").text(words.description).close();
  html.close();
  return html.take();
}

}  // namespace firstglow::sim
