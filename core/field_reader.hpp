#pragma once
/// @file
/// What do the fields of one map of the record say, by the table of record_fields.hpp?

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/record_fields.hpp"
#include "core/record_tree.hpp"

namespace firstglow::core {

/// The dimension of a typed quantity.
template <class Q>
inline constexpr Dimension kDimensionOf = Dimension::none;
template <>
inline constexpr Dimension kDimensionOf<Volts> = Dimension::volts;
template <>
inline constexpr Dimension kDimensionOf<RmsVolts> = Dimension::volts;
template <>
inline constexpr Dimension kDimensionOf<Amps> = Dimension::amps;
template <>
inline constexpr Dimension kDimensionOf<Ohms> = Dimension::ohms;
template <>
inline constexpr Dimension kDimensionOf<Farads> = Dimension::farads;
template <>
inline constexpr Dimension kDimensionOf<Henries> = Dimension::henries;
template <>
inline constexpr Dimension kDimensionOf<Watts> = Dimension::watts;
template <>
inline constexpr Dimension kDimensionOf<Hertz> = Dimension::hertz;
template <>
inline constexpr Dimension kDimensionOf<AmpsSquaredSeconds> = Dimension::amps_squared_seconds;
template <>
inline constexpr Dimension kDimensionOf<Seconds> = Dimension::seconds;
template <>
inline constexpr Dimension kDimensionOf<Kelvin> = Dimension::kelvin;

/// Reads the fields of one map. Every fault goes to the list with the subject in front; a field
/// that is missing or wrong reads as empty.
class FieldReader {
 public:
  /// Reports unknown keys (with the nearest known one) and missing needed ones at once.
  /// @param subject  what the map is, e.g. "part 'R1' (resistor)"
  FieldReader(const RecordNode& map, const std::vector<FieldSpec>& fields, std::string subject,
              std::vector<InputFault>& faults);

  template <class Q>
  [[nodiscard]] std::optional<Q> quantity(std::string_view key) {
    const std::optional<double> si = number(key, kDimensionOf<Q>);
    return si ? std::optional<Q>(Q(*si)) : std::nullopt;
  }
  template <class Q>
  [[nodiscard]] Q quantity_or(std::string_view key, Q otherwise) {
    return quantity<Q>(key).value_or(otherwise);
  }
  /// One value per section of a winding.
  template <class Q>
  [[nodiscard]] std::vector<Q> sections(std::string_view key) {
    std::vector<Q> all;
    for (const double si : section_numbers(key, kDimensionOf<Q>)) {
      all.push_back(Q(si));
    }
    return all;
  }
  [[nodiscard]] std::optional<Tolerance> tolerance(std::string_view key);
  [[nodiscard]] std::optional<int> count(std::string_view key);
  /// Index into the choices of the field.
  [[nodiscard]] std::optional<std::size_t> choice(std::string_view key);
  /// A text of form name, line or note; empty when it is missing or wrong.
  [[nodiscard]] std::string text(std::string_view key);
  /// The value as it stands, nullptr when the key is missing.
  [[nodiscard]] const RecordNode* node(std::string_view key);

  /// Place of the value, or of the map's own key when the field is missing.
  [[nodiscard]] SourcePosition where(std::string_view key) const;
  [[nodiscard]] const std::string& subject() const { return subject_; }
  /// Adds a fault about a field.
  void fault(std::string_view key, const std::string& message);
  void fault_at(SourcePosition where, const std::string& message);

 private:
  const FieldSpec& spec(std::string_view key) const;
  /// The text of a field; empty, with a fault, when it is a map, a list or nothing.
  std::optional<std::string> scalar(const RecordNode& value, std::string_view key);
  std::optional<double> number(std::string_view key, Dimension dimension);
  std::vector<double> section_numbers(std::string_view key, Dimension dimension);
  void report_keys();

  const RecordNode& map_;
  const std::vector<FieldSpec>& fields_;
  std::string subject_;
  std::vector<InputFault>& faults_;
};

/// Name of a shape for messages: "a map", "a list", "a text", "nothing".
[[nodiscard]] const char* shape_words(RecordShape shape);

}  // namespace firstglow::core
