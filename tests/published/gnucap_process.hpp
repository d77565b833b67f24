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

/// Nodes and times of a run of a circuit that was written in gnucap's own words.
struct GnucapSpan {
  double stop_s = 0.0;
  double step_s = 0.0;
  double mean_over_s = 0.0;         ///< the last so many seconds, a whole number of steps
  std::vector<std::string> probes;  ///< what to print, e.g. "v(out)"
};

/// What a meter and a scope would show of one node over the span.
struct GnucapFigures {
  double mean = 0.0, lowest = 0.0, highest = 0.0, last = 0.0;
};

/// Runs gnucap as a child process on the deck, written in gnucap's own syntax from the typed
/// elements and not from our SPICE text, and gives the mean volts of each node.
/// Current sinks become constant currents (gnucap has no free expressions).
/// @throws std::runtime_error when it fails, is not done in 40 s, or stops early; for elements that
/// have to be written by hand (tests/published/gnucap_circuit.hpp) and for sines of a phase other
/// than 0 or 180.
[[nodiscard]] std::vector<double> gnucap_means(const netlists::Deck& deck, const GnucapRun& wanted);

/// The same for element lines in gnucap's own syntax, each ended by a newline.
[[nodiscard]] std::vector<GnucapFigures> gnucap_figures(const std::string& lines,
                                                        const GnucapSpan& span);

}  // namespace firstglow::published
