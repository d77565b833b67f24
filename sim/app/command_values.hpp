#pragma once
/// @file
/// How do words of the command line become values with units?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "core/written_value.hpp"
#include "netlists/situation.hpp"

namespace firstglow::sim {

/// A value with its unit, e.g. `--limit 50V`. @throws UsageError that names the option.
[[nodiscard]] double option_quantity(const std::string& option, const std::string& text,
                                     core::Dimension dimension);

/// Variac volts, with or without "V": "10,30,60". @throws UsageError
[[nodiscard]] std::vector<double> option_variac_steps(const std::string& option,
                                                      const std::vector<std::string>& words);

/// A bring-up stage by its key, "tubes_out" or "tubes-out". @throws UsageError
[[nodiscard]] netlists::Stage option_stage(const std::string& option, const std::string& word);

/// Stage keys, comma separated, in order.
[[nodiscard]] std::string stage_list(const std::vector<netlists::Stage>& stages);
[[nodiscard]] const std::vector<netlists::Stage>& all_stages();

/// @throws UsageError  when the rig has no such stage.
void require_stage(const core::Rig& rig, netlists::Stage stage);

/// Dial setting that gives `variac_vrms` at nominal line. @throws UsageError when out of reach.
[[nodiscard]] double dial_setting(const core::Rig& rig, double variac_vrms);

/// The test lamp of `--lamp 60W`; rated for the nominal line unless volts are given.
[[nodiscard]] netlists::LampInSeries option_lamp(const core::Rig& rig, const std::string& watts,
                                                 const std::string& volts);

}  // namespace firstglow::sim
