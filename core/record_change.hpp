#pragma once
/// @file
/// Which rig would it be with other parts in it? Changes to a record before it is read.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/record_tree.hpp"
#include "core/stock_list.hpp"

namespace firstglow::core {

/// One change as a person writes it:
///
///     PART=TYPE          another type of the part library: `D1=1N5408`
///     PART=NxTYPE        a string of N like ones: `D1=3x1N4007`
///     PART+PART=TYPE     two rectifiers become one twin tube, and a twin tube two diodes
///     PART.KEY=VALUE     one key of the record: `C1.measured=47 uF`, `P1.nominal=125 V`
struct RecordChange {
  std::string text;                ///< as written
  std::vector<std::string> parts;  ///< designators
  std::string key;                 ///< empty: a type is named
  std::string value;               ///< value of the key, or the type without its count
  int in_series = 1;
};

/// Empty when the text has none of these forms.
[[nodiscard]] std::optional<RecordChange> parse_change(std::string_view text);

/// What a change did that the user did not write.
struct ChangeEffect {
  std::vector<std::string> parts;  ///< designators that stand for the changed parts now
  std::vector<std::string> notes;  ///< in words, for the assumptions
};

/// Makes the change in the tree. New values stand at the place of the part they belong to, so that
/// messages of the reader point there.
/// @param file  used in messages only
/// @throws InputError when the part, the key or the type is unknown, or the part cannot become
///         that type.
ChangeEffect apply_change(RecordNode& record, const RecordChange& change, const std::string& file);

/// Puts a resistor of `ohm` between the common cathode of these silicon diodes and what hangs on
/// it; it becomes the last part of the record.
/// @returns false, with nothing changed, when they are no diodes or share no cathode.
[[nodiscard]] bool add_series_resistor(RecordNode& record, const std::vector<std::string>& parts,
                                       double ohm);

/// Puts a stock part in the place of a capacitor, resistor, silicon diode or fuse: value, tolerance
/// and ratings are those of the stock part, and unknown where it has none; whatever was measured on
/// the old part goes.
/// @throws InputError when the part is of another kind, or the stock part lacks its value.
void fit_stock_part(RecordNode& record, const std::string& designator, const StockPart& stock,
                    const std::string& file);

}  // namespace firstglow::core
