#pragma once
/// @file
/// Which records does the program carry as forms to be filled in?

#include <span>
#include <string_view>

namespace firstglow::sim {

struct RecordTemplate {
  std::string_view name;    ///< as on the command line
  std::string_view record;  ///< text of the record
};

/// Made from the scenarios at build time (sim/app/templates.cmake).
[[nodiscard]] std::span<const RecordTemplate> record_templates();

}  // namespace firstglow::sim
