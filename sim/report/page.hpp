#pragma once
/// @file
/// How are headings, paragraphs and tables put on a page of one width?

#include <string>
#include <string_view>

#include "sim/report/shown_text.hpp"
#include "sim/report/table.hpp"

namespace firstglow::sim {

/// Text under construction. Every string that goes in is made harmless by shown(), so that names
/// and notes of the user may be given as they are; no line is wider than the page.
class Page {
 public:
  explicit Page(const TextStyle& style) : style_(style) {}

  Page& blank();  ///< one empty line; several in a row are one
  Page& title(std::string_view text);
  Page& heading(std::string_view text);
  /// A paragraph at `indent`; its further lines at `indent + hang`.
  Page& text(std::string_view text, int indent = 0, int hang = 0);
  /// `marker` and a paragraph whose further lines stand under its first word.
  Page& item(std::string_view marker, std::string_view text, int indent = 0);
  Page& table(const Table& table, int indent = 0);

  [[nodiscard]] const TextStyle& style() const { return style_; }
  [[nodiscard]] std::string take();

 private:
  void put(const std::string& line);

  TextStyle style_;
  std::string text_;
};

}  // namespace firstglow::sim
