#pragma once
/// @file
/// How many hours may an electrolytic work, and what does its shelf age ask for?

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/electrolytic.hpp"
#include "core/units.hpp"

namespace firstglow::core {

/// Life at another temperature by the ten-degree rule alone: L = L_0 2^((T_0 - T)/10 K).
/// Source: rule of the trade, from memory 92 %; [ELCAP-LIFE] prints it.
[[nodiscard]] Seconds ten_degree_life(const RatedLife& rated, Kelvin at);

/// The work that a life is asked for.
struct CapacitorDuty {
  Kelvin air;          ///< around the can
  Amps ripple;         ///< rms
  Amps rated_ripple;   ///< rms, > 0
  Volts volts, rated;  ///< DC
};

/// Factors of the maker's form.
struct LifeFactors {
  double temperature = 1.0, ripple = 1.0, volts = 1.0;
  [[nodiscard]] double product() const { return temperature * ripple * volts; }
};

/// The maker's form, L = L_0 K_T K_R K_V:
///
///     K_T = 2^((T_0 - T_air)/10 K),   K_R = K_i^((1 - (I/I_0)^2) dT_0/10 K),
///     K_V = (V/V_0)^-2.5 from 0.6 to 1 of rated volts, 3.59 below,
///
/// with dT_0 the rise of the core at rated ripple: 5 K for 105 C parts, 10 K for 85 C parts; K_i is
/// 2, and 4 for 105 C parts above their rated ripple. Where the source gives a range for dT_0
/// (3.5 to 5 and 3.5 to 10 K), its upper end is taken above rated ripple and the lower end below
/// it: the shorter life. Volts above rated: no answer. Source: [ELCAP-LIFE], for snap-in and
/// screw-terminal parts of one maker; others differ.
[[nodiscard]] std::optional<LifeFactors> maker_life_factors(const RatedLife& rated,
                                                            const CapacitorDuty& duty);

/// What the years ask for.
enum class ShelfAdvice {
  use,        ///< keeps its first data
  test,       ///< read the leakage first
  condition,  ///< pre-condition before use
  reform,     ///< form slowly, with a log, and be ready to give up
  unknown,
};

struct ShelfStep {
  ShelfAdvice advice = ShelfAdvice::unknown;
  std::string words;
};

/// By years without volts: up to 2 use [SHELF-NOTE], 3 test, from 4 condition, from 10 beyond the
/// usual shelf life [CDE-1993]: reform. The stricter source counts where they differ.
[[nodiscard]] ShelfStep shelf_advice(std::optional<int> years_idle);

/// A published way to pre-condition a part.
struct ConditioningRule {
  std::string_view name, source;
  Ohms series;
  Seconds dwell;
  Amps ceiling;    ///< 0: none but the resistor
  Ohms discharge;  ///< through which it is emptied afterwards; 0: not said
  std::string_view words;
};

/// EIA-815 first: rated volts through 100 ohm up to 100 V, 1 kohm above, 1 h; discharge through
/// about 1 ohm per volt; rest 12 to 48 h [EIA-815]. Then a maker's rule of 1993 [CDE-1993], and the
/// rule for long-stored parts: 30 kohm, 5 min + 1 min per month [OLD-STOCK].
[[nodiscard]] std::vector<ConditioningRule> conditioning_rules(Volts rated,
                                                               std::optional<int> years_idle);

}  // namespace firstglow::core
