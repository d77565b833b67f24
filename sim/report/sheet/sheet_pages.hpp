#pragma once
/// @file
/// Which pages does the sheet have? Each is one <section>, printed from the top of a paper page.

#include "sim/report/sheet/html.hpp"
#include "sim/report/sheet/sheet.hpp"

namespace firstglow::sim {

[[nodiscard]] Markup front_page(const SheetInput& input);
[[nodiscard]] Markup volts_page(const SheetInput& input);
[[nodiscard]] Markup dead_page(const SheetInput& input);
[[nodiscard]] Markup step_pages(const SheetInput& input);
[[nodiscard]] Markup picture_page(const SheetInput& input);
[[nodiscard]] Markup discharge_page(const SheetInput& input);
[[nodiscard]] Markup margins_page(const SheetInput& input);
[[nodiscard]] Markup parts_page(const SheetInput& input);
[[nodiscard]] Markup tags_page(const SheetInput& input);
[[nodiscard]] Markup as_left_page(const SheetInput& input);
[[nodiscard]] Markup assumptions_page(const SheetInput& input);

/// One entry of the table of contents.
struct PageName {
  std::string id, title;
};
[[nodiscard]] std::vector<PageName> page_names(const SheetInput& input);

/// Opens the section with its heading and the short cautions; the caller closes it.
void begin_page(Html& html, const PageName& name, const char* classes = "page");

/// "Why there is no answer", in place of a study's part of a page.
void put_no_answer(Html& html, const std::string& failure);

}  // namespace firstglow::sim
