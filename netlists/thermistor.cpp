#include "netlists/thermistor.hpp"

#include <cmath>

#include "core/error.hpp"

namespace firstglow::netlists {
namespace {

constexpr double kHottestKelvin = 1500.0;  ///< far above what any thermistor outlives

}  // namespace

double ThermistorParameters::ohm_at_kelvin(double kelvin) const {
  return cold_ohm * std::exp(beta_k * (1.0 / kelvin - 1.0 / kThermistorRoomKelvin));
}

double hot_kelvin(const core::NtcLimiter& part) {
  FIRSTGLOW_REQUIRE(part.hot.si() > 0.0 && part.hot < part.cold && part.beta.si() > 0.0,
                    "a thermistor has fewer ohms hot than cold and a B value");
  return 1.0 / (1.0 / kThermistorRoomKelvin + std::log(part.hot / part.cold) / part.beta.si());
}

ThermistorParameters thermistor_of(const core::NtcLimiter& part) {
  FIRSTGLOW_REQUIRE(part.rated_current.si() > 0.0 && part.thermal_time.si() > 0.0,
                    "a thermistor has a rated current and a thermal time");
  const double rise_k = hot_kelvin(part) - kThermistorRoomKelvin;
  FIRSTGLOW_REQUIRE(rise_k > 0.0, "the B value lets the thermistor reach its hot ohms");
  ThermistorParameters result;
  result.cold_ohm = part.cold.si();
  result.beta_k = part.beta.si();
  result.w_per_k = part.rated_current.si() * part.rated_current.si() * part.hot.si() / rise_k;
  result.heat_j_per_k = part.thermal_time.si() * result.w_per_k;
  return result;
}

double settled_ohm_at_amps(const ThermistorParameters& part, double amps_rms) {
  FIRSTGLOW_REQUIRE(std::isfinite(amps_rms), "the amps through a thermistor are finite");
  double low_k = kThermistorRoomKelvin;
  double high_k = kHottestKelvin;
  for (int i = 0; i < 60; ++i) {
    const double middle_k = 0.5 * (low_k + high_k);
    const double made_w = amps_rms * amps_rms * part.ohm_at_kelvin(middle_k);
    (made_w > part.w_per_k * (middle_k - kThermistorRoomKelvin) ? low_k : high_k) = middle_k;
  }
  return part.ohm_at_kelvin(0.5 * (low_k + high_k));
}

}  // namespace firstglow::netlists
