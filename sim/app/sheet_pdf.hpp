#pragma once
/// @file
/// How does the page of the bench sheet become a PDF, when a browser is there?

#include <string>

namespace firstglow::sim {

struct SheetPdf {
  std::string pdf;
  std::string failure;  ///< not empty: no PDF, and why in words
};

/// Printed by Chromium without a window, in a fresh profile that is removed afterwards, from the
/// file alone: the page's policy lets nothing be fetched.
/// @param html_file  path of the finished page
[[nodiscard]] SheetPdf print_sheet(const std::string& html_file);

}  // namespace firstglow::sim
