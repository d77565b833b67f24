#pragma once
/// @file
/// What do the lines printed by ngspice 39 tell? Words found by trying 65 faulty circuits.

#include <string>
#include <string_view>
#include <vector>

namespace firstglow::sim {

/// True when a line printed while a circuit is loaded means that it was not taken as written.
[[nodiscard]] bool tells_load_error(std::string_view line);
/// True when a line printed during a run means that the run has no result.
[[nodiscard]] bool tells_abort(std::string_view line);
/// The node (`n3`), branch (`l1#branch`) or element (`d7`) the solver blames, empty when none.
[[nodiscard]] std::string failing_name(const std::vector<std::string>& lines);

}  // namespace firstglow::sim
