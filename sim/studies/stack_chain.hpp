#pragma once
/// @file
/// Which cans stand in series, from top to bottom, and what lies across each?

#include <optional>
#include <string>
#include <vector>

#include "core/leakage_limits.hpp"
#include "core/rig.hpp"
#include "core/stack_split.hpp"

namespace firstglow::sim {

/// Like cans between two neighbouring nodes of a stack.
struct ChainSection {
  core::NodeIndex upper = core::kOpenNode, lower = core::kOpenNode;
  std::vector<std::size_t> cans, equalisers;  ///< part indices
};

struct StackChain {
  std::vector<ChainSection> sections;  ///< top first
};

/// Every stack of the rig (netlists/stack.hpp), as a chain.
[[nodiscard]] std::vector<StackChain> stack_chains(const core::Rig& rig);

/// Values of a section for core/stack_split.hpp. Leakage: that of the record, else the limit of the
/// rule; `leakage_assumed` then says so.
struct SectionValues {
  core::StackSection split;
  double nominal_f = 0.0;
  std::optional<double> equaliser_ohm;       ///< nominal
  std::optional<double> working_v, surge_v;  ///< lowest of its cans
  bool leakage_assumed = false;
};
[[nodiscard]] SectionValues values_of(const core::Rig& rig, const ChainSection& section,
                                      const core::LeakageRule& rule);

}  // namespace firstglow::sim
