#pragma once
/// @file
/// With how many volts does each capacitor start when the supply is switched off, at worst?

#include <map>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/bleed.hpp"

namespace firstglow::sim {

struct WorstStart {
  std::map<int, double> volts;        ///< plus to minus, by part index; largest magnitude
  std::map<int, std::string> where;   ///< the situation it was found in, in words
  std::string words;                  ///< situation of the highest of all
  std::map<int, BleederDuty> duty;    ///< of bleeders and equalisers, by part index
  std::vector<std::string> failures;  ///< runs that gave no answer: the start may be too low
};

/// Looked at, all at high line: cold switch-on with tubes out at 8 closing angles over a whole
/// cycle, 0.6 s; the same at the worst angles with each tolerance by itself and with all that
/// raise a capacitor's volts together; the steady state of every stage from the filter on,
/// also with bleeders and equalisers at the ends of their tolerance.
///
/// The largest volts of each capacitor are kept, though no single moment need have them all: an
/// upper bound. Volts are those at the terminals.
[[nodiscard]] WorstStart worst_start(const core::Rig& rig, WorkerPool& pool,
                                     const Progress& progress);

}  // namespace firstglow::sim
