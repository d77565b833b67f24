#pragma once
/// @file
/// How does a person run a deck in a stock SPICE, with the user's own names beside it?

#include <string>

#include "core/rig.hpp"
#include "netlists/deck_builder.hpp"

namespace firstglow::netlists {

struct ExportOptions {
  double stop_s = 0.5;      ///< > 0
  double max_step_s = 0.0;  ///< > 0; 0: one mains cycle / 200
  bool gear = false;        ///< slower and free of ringing; for a person who sees spikes
};

/// Whole netlist as text, lines ended by '\n', ASCII only.
///
/// The user's words stand in comment lines only, each `* ` and a letter first, with every
/// character that some SPICE gives a meaning replaced by `?` (spice_comment()) and cut at 80
/// characters; no line of it can act as a command.
///
/// @throws ContractError when `built` was not made from `rig`, or an option is out of range.
[[nodiscard]] std::string export_deck(const core::Rig& rig, const Situation& situation,
                                      const BuiltDeck& built, const ExportOptions& options = {});

}  // namespace firstglow::netlists
