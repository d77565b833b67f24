#pragma once
/// @file
/// What is this part's value, and how far may it be off?

#include <optional>

#include "core/units.hpp"

namespace firstglow::core {

/// How far a value may lie below and above its nominal, as fractions (0.2 = 20 %), both >= 0.
struct Tolerance {
  double minus = 0.0;
  double plus = 0.0;
};

/// Where the tolerance in use came from.
enum class ToleranceOrigin {
  stated,    ///< written in the record
  assumed,   ///< none written: trade default for the kind (common practice, no source)
  measured,  ///< a measured value is given: the band is the meter's
};

/// A part's value as marked and, when somebody put a meter on it, as measured.
/// At least one of the two is present in a validated Rig.
template <class Q>
struct PartValue {
  std::optional<Q> marked;
  std::optional<Q> measured;
  Tolerance tolerance;  ///< band around nominal() in use
  ToleranceOrigin origin = ToleranceOrigin::assumed;

  /// The measured value when there is one, else the marked value.
  [[nodiscard]] Q nominal() const { return measured ? *measured : marked.value_or(Q()); }
  [[nodiscard]] Q low() const { return nominal() * (1.0 - tolerance.minus); }
  [[nodiscard]] Q high() const { return nominal() * (1.0 + tolerance.plus); }
  /// Value at a corner: -1 gives low(), 0 nominal(), +1 high(), linear in between.
  [[nodiscard]] Q at(double corner) const {
    return corner >= 0.0 ? nominal() * (1.0 + tolerance.plus * corner)
                         : nominal() * (1.0 + tolerance.minus * corner);
  }
};

}  // namespace firstglow::core
