#pragma once
/// @file
/// How do capacitors in series share the volts, at once and after hours, at worst?

#include <optional>
#include <vector>

#include "core/units.hpp"

namespace firstglow::core {

/// One section of a stack: like cans in parallel count as one.
struct StackSection {
  Farads low, high;  ///< capacitance over its tolerance
  Amps leakage;      ///< the largest it may have, taken as constant above a few volts; >= 0
  std::optional<Ohms> equaliser_low, equaliser_high;  ///< across it; empty: none
};

/// Largest volts on section `at` when `total` comes on at once: it has its low capacitance and all
/// others their high one, V_j = V (1/C_j)/sum(1/C).
/// Left out: charge that leakage moves meanwhile. Source: charge is equal in series; worked out.
[[nodiscard]] Volts fast_share(const std::vector<StackSection>& sections, std::size_t at,
                               Volts total);

/// Largest volts on section `at` after hours: it leaks nothing and has its high equaliser, all
/// others leak all they may and have their low one. With stack current I,
///
///     v_j = I R_j,  v_k = (I - i_k) R_k,  sum = V  =>  I = (V + sum i_k R_k)/sum R.
///
/// A section whose leakage takes more than the stack current would come out below 0 V: it is held
/// at 0 (a can does not reverse itself), and the others share the rest.
/// @returns empty when some section has no equaliser: the share then rests on leakage alone, and
///          a tight can may see all of it.
/// Left out: leakage falls with the volts, which moves less (safe side).
/// Source: Kirchhoff; worked out.
[[nodiscard]] std::optional<Volts> slow_share(const std::vector<StackSection>& sections,
                                              std::size_t at, Volts total);

/// Volts of every section after hours with exactly these leakages and equalisers (low = high used:
/// equaliser_high); empty as in slow_share().
[[nodiscard]] std::optional<std::vector<Volts>> settled_shares(
    const std::vector<StackSection>& sections, Volts total);

/// The largest equaliser, alike for every section and within `tolerance`, with which no section
/// comes above `allowed` volts after hours; empty when none does (total too high).
[[nodiscard]] std::optional<Ohms> largest_equaliser(const std::vector<StackSection>& sections,
                                                    Volts total, Volts allowed, double tolerance);

/// The next value down of the E24 series [IEC-60063].
[[nodiscard]] Ohms e24_below(Ohms value);
/// The next value up.
[[nodiscard]] Ohms e24_above(Ohms value);

/// What a resistor across `volts` must stand.
struct EqualiserDuty {
  int in_series = 1;  ///< like resistors that share the volts
  Ohms each;
  Watts each_watts;  ///< dissipated in each
  Watts each_rated;  ///< to be bought: twice that, in a usual size
  Volts each_volts;
  Volts style_volts;  ///< largest continuous volts of that size
};
/// Styles: 350 V up to 1/2 W, 500 V for 1 W, 750 V for 2 W and above ([MIL-R-10509] for the form of
/// the rule; the volts from memory 85 %). At most 80 % of them are used.
[[nodiscard]] EqualiserDuty equaliser_duty(Ohms value, Volts volts);

}  // namespace firstglow::core
