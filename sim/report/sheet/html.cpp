#include "sim/report/sheet/html.hpp"

#include <fmt/format.h>

#include <utility>

#include "core/error.hpp"
#include "sim/report/sheet/html_text.hpp"

namespace firstglow::sim {
namespace {

const char* class_of(HtmlColumnKind kind) {
  switch (kind) {
    case HtmlColumnKind::number:
      return "number";
    case HtmlColumnKind::blank:
      return "entry";
    case HtmlColumnKind::words:
      break;
  }
  return "";
}

std::vector<Attribute> with_class(std::vector<Attribute> attributes, HtmlColumnKind kind) {
  if (*class_of(kind) != '\0') {
    attributes.push_back({"class", class_of(kind)});
  }
  return attributes;
}

void put_cell(Html& html, const char* tag, const HtmlCell& cell,
              const std::vector<Attribute>& attributes) {
  html.open(tag, attributes);
  if (cell.markup) {
    html.paste(*cell.markup);
  } else {
    html.text(cell.text);
  }
  html.close();
}

}  // namespace

std::string html_id(std::string_view text) {
  std::string id;
  for (const char letter : text) {
    const bool plain = (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') ||
                       (letter >= '0' && letter <= '9') || letter == '-';
    if (plain) {
      id += letter;
    } else {
      id += fmt::format("_{:02x}", static_cast<unsigned>(static_cast<unsigned char>(letter)));
    }
  }
  return id;
}

HtmlTable& HtmlTable::row(std::vector<HtmlCell> cells) {
  FIRSTGLOW_REQUIRE(cells.size() == columns_.size(), "a row has a cell for each column");
  rows_.push_back({std::move(cells), std::nullopt});
  return *this;
}

HtmlTable& HtmlTable::group(std::string heading) {
  rows_.push_back({{}, std::move(heading)});
  return *this;
}

Markup HtmlTable::markup() const {
  Html html;
  html.open("div", {{"class", "wide"}}).open("table").element("caption", caption_);
  html.open("thead").open("tr");
  for (const HtmlColumn& column : columns_) {
    html.element("th", column.heading, with_class({{"scope", "col"}}, column.kind));
  }
  html.close().close().open("tbody");
  for (const Row& row : rows_) {
    if (row.group) {
      html.close().open("tbody").open("tr", {{"class", "group"}});
      html.element("th", *row.group,
                   {{"scope", "rowgroup"}, {"colspan", fmt::format("{}", columns_.size())}});
      html.close();
      continue;
    }
    html.open("tr");
    for (std::size_t i = 0; i < row.cells.size(); ++i) {
      put_cell(
          html, i == 0 ? "th" : "td", row.cells[i],
          with_class(i == 0 ? std::vector<Attribute>{{"scope", "row"}} : std::vector<Attribute>{},
                     columns_[i].kind));
    }
    html.close();
  }
  html.close().close().close();
  return html.take();
}

void Html::start(const char* tag, const std::vector<Attribute>& attributes) {
  html_ += fmt::format("<{}", tag);
  for (const Attribute& attribute : attributes) {
    html_ += fmt::format(" {}=\"{}\"", attribute.name, html_text(attribute.value));
  }
  html_ += '>';
}

Html& Html::open(const char* tag, const std::vector<Attribute>& attributes) {
  start(tag, attributes);
  open_.push_back(tag);
  return *this;
}

Html& Html::close() {
  FIRSTGLOW_REQUIRE(!open_.empty(), "a tag is open");
  html_ += fmt::format("</{}>\n", open_.back());
  open_.pop_back();
  return *this;
}

Html& Html::text(std::string_view text) {
  html_ += html_text(text);
  return *this;
}

Html& Html::element(const char* tag, std::string_view text,
                    const std::vector<Attribute>& attributes) {
  return open(tag, attributes).text(text).close();
}

Html& Html::list(const std::vector<std::string>& items, const char* tag,
                 const std::vector<Attribute>& attributes) {
  if (items.empty()) {
    return *this;
  }
  open(tag, attributes);
  for (const std::string& item : items) {
    element("li", item);
  }
  return close();
}

Html& Html::table(const HtmlTable& table) { return table.empty() ? *this : paste(table.markup()); }

Html& Html::paste(const Markup& markup) {
  html_ += markup.html;
  return *this;
}

Markup Html::take() {
  FIRSTGLOW_REQUIRE(open_.empty(), "every tag is closed");
  return {std::exchange(html_, {})};
}

}  // namespace firstglow::sim
