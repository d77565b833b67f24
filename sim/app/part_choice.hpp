#pragma once
/// @file
/// How do names of parts and nodes, temperatures and shares on the command line become values?

#include <string>

#include "core/leakage_limits.hpp"
#include "core/rig.hpp"

namespace firstglow::sim {

/// "40C" or "40 C" as kelvin, -40 to 150 C. @throws UsageError
[[nodiscard]] double option_celsius(const std::string& option, const std::string& text);
/// "3%" or "3 %" as a share above 0 and up to 50 %. @throws UsageError
[[nodiscard]] double option_percent(const std::string& option, const std::string& text);
/// The leakage rule of that key. @throws UsageError
[[nodiscard]] const core::LeakageRule& option_leakage_rule(const std::string& key);
/// @throws UsageError when the part is none of this rig, or no electrolytic.
void require_electrolytic(const core::Rig& rig, const std::string& part);
/// @throws UsageError when there is no such node, or no capacitor of that name
void require_node(const core::Rig& rig, const std::string& option, const std::string& node);
void require_capacitor(const core::Rig& rig, const std::string& option, const std::string& part);

}  // namespace firstglow::sim
