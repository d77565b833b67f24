#pragma once
/// @file
/// What does gnucap [GNUCAP], an engine of other descent, say of the same deck?

#include <string>
#include <vector>

#include "netlists/deck.hpp"

namespace firstglow::published {

[[nodiscard]] bool gnucap_is_installed();

struct GnucapRun {
  double stop_s = 0.0;
  double step_s = 0.0;
  double mean_over_s = 0.0;               ///< the last so many seconds, a whole number of steps
  std::vector<netlists::DeckNode> nodes;  ///< whose means to return
};

/// The deck in gnucap's own syntax, written from the typed elements and not from our SPICE text.
/// Current sinks become constant currents (gnucap has no free expressions).
/// @throws std::runtime_error for thermal resistors and for sines of a phase other than 0 or 180.
[[nodiscard]] std::string gnucap_text(const netlists::Deck& deck, const GnucapRun& wanted);

/// Runs gnucap as a child process and gives the mean volts of each node.
/// @throws std::runtime_error when it fails, is not done in 40 s, or stops early.
[[nodiscard]] std::vector<double> gnucap_means(const netlists::Deck& deck, const GnucapRun& wanted);

}  // namespace firstglow::published
