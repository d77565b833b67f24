#pragma once
/// @file
/// How is a web page built so that no text of the user can become markup?
///
/// Every string that goes in is escaped, but for Markup, which only writers of this room make.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace firstglow::sim {

/// A word fit for an id or a part of one: letters, digits, - and _; anything else becomes its code
/// points, so that different texts give different words.
[[nodiscard]] std::string html_id(std::string_view text);

/// Finished, well-formed markup. Never made from text of a record without html_text().
struct Markup {
  std::string html;
};

struct Attribute {
  const char* name;
  std::string value;
};

struct HtmlCell {
  // NOLINTNEXTLINE(google-explicit-constructor): rows are written as plain words
  HtmlCell(std::string words) : text(std::move(words)) {}
  // NOLINTNEXTLINE(google-explicit-constructor)
  HtmlCell(const char* words) : text(words) {}
  // NOLINTNEXTLINE(google-explicit-constructor)
  HtmlCell(Markup made) : markup(std::move(made)) {}

  std::string text;
  std::optional<Markup> markup;  ///< instead of text
};

enum class HtmlColumnKind { words, number, blank };

struct HtmlColumn {
  std::string heading;
  HtmlColumnKind kind = HtmlColumnKind::words;
};

/// A table with a caption; the first cell of a row is the heading of the row.
class HtmlTable {
 public:
  HtmlTable(std::string caption, std::vector<HtmlColumn> columns)
      : caption_(std::move(caption)), columns_(std::move(columns)) {}

  /// @param cells  one per column
  HtmlTable& row(std::vector<HtmlCell> cells);
  /// The following rows belong together and stay on one page; `heading` stands above them.
  HtmlTable& group(std::string heading);
  [[nodiscard]] bool empty() const { return rows_.empty(); }
  [[nodiscard]] Markup markup() const;

 private:
  struct Row {
    std::vector<HtmlCell> cells;
    std::optional<std::string> group;  ///< instead of cells
  };

  std::string caption_;
  std::vector<HtmlColumn> columns_;
  std::vector<Row> rows_;
};

/// Markup under construction; tags are closed in the order in which they must be.
class Html {
 public:
  Html& open(const char* tag, const std::vector<Attribute>& attributes = {});
  Html& close();
  Html& text(std::string_view text);
  Html& element(const char* tag, std::string_view text,
                const std::vector<Attribute>& attributes = {});
  Html& paragraph(std::string_view text) { return element("p", text); }
  /// One line each; nothing when there are none.
  Html& list(const std::vector<std::string>& items, const char* tag = "ul",
             const std::vector<Attribute>& attributes = {});
  /// Nothing when the table has no row.
  Html& table(const HtmlTable& table);
  Html& paste(const Markup& markup);

  /// @throws ContractError  when a tag is still open.
  [[nodiscard]] Markup take();

 private:
  void start(const char* tag, const std::vector<Attribute>& attributes);

  std::string html_;
  std::vector<const char*> open_;
};

}  // namespace firstglow::sim
