#pragma once
/// @file
/// What did somebody write down while a capacitor was forming? A comma-separated list of readings.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"
#include "core/units.hpp"

namespace firstglow::core {

inline constexpr std::size_t kLargestFormingLog = std::size_t{256} * 1024;
inline constexpr std::size_t kMostFormingReadings = 2000;

struct FormingReading {
  Seconds time;                 ///< since the first volts; rises from row to row
  Amps current;                 ///< > 0
  std::optional<Volts> supply;  ///< ahead of the resistor; a change begins a new step
  std::optional<Kelvin> can;    ///< temperature of the can
  SourcePosition where;
};

/// Read a log. Columns by heading, each with its unit in brackets, in any order: `time [min]` and
/// `current [mA]` (needed), `supply [V]`, `can [C]`. Units: s, min, h; uA, mA, A; V, kV; C.
/// Cells are plain decimal numbers.
/// @throws InputError with every fault of the file.
[[nodiscard]] std::vector<FormingReading> read_forming_text(std::string_view text,
                                                            const std::string& file);
[[nodiscard]] std::vector<FormingReading> read_forming_file(const std::string& path);

}  // namespace firstglow::core
