#pragma once
/// @file
/// What do the files of sim/report/sheet/assets hold? They are built into the program.

#include <string_view>

namespace firstglow::sim {

[[nodiscard]] std::string_view sheet_styles();   ///< assets/sheet.css
[[nodiscard]] std::string_view tablet_styles();  ///< assets/tablet.css
[[nodiscard]] std::string_view tablet_script();  ///< assets/tablet.js

}  // namespace firstglow::sim
