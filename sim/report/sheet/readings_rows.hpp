#pragma once
/// @file
/// Which faults can an entry or a sheet's description have, whatever the form of its file?

#include <string>
#include <string_view>
#include <vector>

#include "sim/report/sheet/readings_file.hpp"

namespace firstglow::sim {

/// Collects entries and faults; knows the words of the format.
class ReadingsRows {
 public:
  explicit ReadingsRows(std::vector<core::InputFault>& faults) : faults_(faults) {}

  /// An id that is empty, too long or there twice is a fault.
  void add(WrittenEntry entry);
  /// "tick", "words", "reading"; empty is a reading. Else a fault.
  [[nodiscard]] EntryKind kind_of(std::string_view word, core::SourcePosition where);

  /// One fact of the sheet as text, e.g. "lamp-W" and "60"; lists are parted by blanks.
  void add_fact(std::string_view name, const std::string& value, core::SourcePosition where);

  void fault(core::SourcePosition where, std::string message);
  [[nodiscard]] ReadingsFile take(const std::string& file);

 private:
  std::optional<double> positive(std::string_view name, const std::string& value, double most,
                                 core::SourcePosition where);
  void add_steps(const std::string& value, core::SourcePosition where);
  void add_stages(const std::string& value, core::SourcePosition where);
  SheetFacts& facts();

  std::vector<core::InputFault>& faults_;
  ReadingsFile read_;
};

}  // namespace firstglow::sim
