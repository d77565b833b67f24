#pragma once
/// @file
/// Which rig, record and ladder does a sheet belong to? Written into the page, carried by every
/// export, and read back by `firstglow readings`.

#include <optional>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// What a sheet was made from. Empty ladder and stages: the defaults of rampup().
struct SheetFacts {
  std::string rig;     ///< name in the record
  std::string record;  ///< fingerprint of the record as it was understood
  std::string date;    ///< of the sheet, as printed on it
  std::vector<double> steps_vrms;
  std::vector<std::string> stages;  ///< keys of netlists::stage_key()
  std::optional<double> lamp_w, lamp_vrms;
  bool without_lamp = true;  ///< also the passes without lamp
};

/// @param options  the ones rampup() was asked with for this sheet
[[nodiscard]] SheetFacts sheet_facts(const core::Rig& rig, const RampupOptions& options,
                                     const std::string& date);

/// A hidden element that assets/tablet.js finds them in; once in a page, before the script.
[[nodiscard]] std::string sheet_facts_html(const SheetFacts& facts);

}  // namespace firstglow::sim
