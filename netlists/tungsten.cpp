#include "netlists/tungsten.hpp"

#include <cmath>

#include "core/error.hpp"
#include "netlists/radiation.hpp"

namespace firstglow::netlists {
namespace {

// Filament temperature at rated volts: gas-filled lamps about 2800 K, vacuum lamps below 40 W
// about 2500 K (from memory).
constexpr double kGasFilledKelvin = 2800.0;
constexpr double kVacuumKelvin = 2500.0;
constexpr double kSmallestGasFilledWatts = 40.0;

// Heat capacity of the filament of a 100 W 120 V lamp [J/K]: brings it to 90 % of its light in
// about 0.1 s (from memory); scaling in docs/methods/lamp_and_heater.md.
constexpr double kLampHeat = 0.007;

// Heater and cathode together: heat_j_per_k = 20 s * hot_w / hot_k makes 63 % of the rise of
// resistance take about 5 s (order of size from memory).
constexpr double kHeaterSeconds = 20.0;
// A rectifier tube's, in proportion to its own warm-up time; this one belongs to kHeaterSeconds.
constexpr double kUsualWarmUp = 15.0;
constexpr double kHotOverCold = 5.0;

/// What the heat given off is measured in: T^n.
double radiance(double kelvin) { return std::pow(kelvin, kRadiationExponent); }

/// Temperature where the heating power meets the radiated power. `heating_w(ohm)` must grow more
/// slowly with temperature than the radiation.
template <class HeatingWatts>
double balance_kelvin(const TungstenParameters& wire, HeatingWatts heating_w) {
  double low_k = kRoomKelvin;
  double high_k = 4.0 * wire.hot_k;
  for (int i = 0; i < 60; ++i) {
    const double middle_k = 0.5 * (low_k + high_k);
    if (heating_w(wire.ohm_at_kelvin(middle_k)) > radiated_w(wire, middle_k)) {
      low_k = middle_k;
    } else {
      high_k = middle_k;
    }
  }
  return 0.5 * (low_k + high_k);
}

}  // namespace

double TungstenParameters::ohm_at_kelvin(double kelvin) const {
  return cold_ohm * std::pow(kelvin / kRoomKelvin, kTungstenExponent);
}

double radiated_w(const TungstenParameters& wire, double kelvin) {
  return wire.hot_w * (radiance(kelvin) - radiance(kRoomKelvin)) /
         (radiance(wire.hot_k) - radiance(kRoomKelvin));
}

TungstenParameters tungsten_of(const LampInSeries& lamp) {
  const double rated_w = lamp.rated_watts.si();
  const double rated_vrms = lamp.rated_volts.si();
  FIRSTGLOW_REQUIRE(std::isfinite(rated_w) && rated_w > 0.0, "a lamp has rated watts above 0");
  FIRSTGLOW_REQUIRE(std::isfinite(rated_vrms) && rated_vrms > 0.0,
                    "a lamp has rated volts above 0");
  TungstenParameters wire;
  wire.hot_w = rated_w;
  wire.hot_k = rated_w < kSmallestGasFilledWatts ? kVacuumKelvin : kGasFilledKelvin;
  const double hot_ohm = rated_vrms * rated_vrms / rated_w;
  wire.cold_ohm = hot_ohm * std::pow(kRoomKelvin / wire.hot_k, kTungstenExponent);
  wire.heat_j_per_k =
      kLampHeat * std::pow(rated_w / 100.0, 5.0 / 3.0) * std::pow(120.0 / rated_vrms, 2.0 / 3.0);
  return wire;
}

TungstenParameters tungsten_of(const core::Heater& heater) {
  FIRSTGLOW_REQUIRE(heater.cold.si() > 0.0 && heater.hot.si() > heater.cold.si(),
                    "a heater has hot ohms above its cold ohms above 0");
  const double rated_vrms = heater.rated_volts.si();
  FIRSTGLOW_REQUIRE(std::isfinite(rated_vrms) && rated_vrms > 0.0,
                    "a heater has rated volts above 0");
  TungstenParameters wire;
  wire.cold_ohm = heater.cold.si();
  wire.hot_k = kRoomKelvin * std::pow(heater.hot / heater.cold, 1.0 / kTungstenExponent);
  wire.hot_w = rated_vrms * rated_vrms / heater.hot.si();
  wire.heat_j_per_k = kHeaterSeconds * wire.hot_w / wire.hot_k;
  return wire;
}

TungstenParameters tungsten_of(const core::RectifierHeater& heater) {
  FIRSTGLOW_REQUIRE(heater.rated_volts.si() > 0.0 && heater.rated_current.si() > 0.0,
                    "a rectifier tube has heater volts and amps above 0");
  TungstenParameters wire;
  wire.cold_ohm = heater.hot().si() / kHotOverCold;
  wire.hot_k = kRoomKelvin * std::pow(kHotOverCold, 1.0 / kTungstenExponent);
  wire.hot_w = heater.rated_volts.si() * heater.rated_current.si();
  const double warm_up_s = heater.warm_up ? heater.warm_up->si() : kUsualWarmUp;
  wire.heat_j_per_k = kHeaterSeconds / kUsualWarmUp * warm_up_s * wire.hot_w / wire.hot_k;
  return wire;
}

double kelvin_at_power(const TungstenParameters& wire, double watts) {
  FIRSTGLOW_REQUIRE(std::isfinite(watts) && watts >= 0.0, "a wire gives off 0 W or more");
  const double share = watts / wire.hot_w;
  return std::pow(radiance(kRoomKelvin) + share * (radiance(wire.hot_k) - radiance(kRoomKelvin)),
                  1.0 / kRadiationExponent);
}

double ohm_at_power(const TungstenParameters& wire, double watts) {
  return wire.ohm_at_kelvin(kelvin_at_power(wire, watts));
}

double equilibrium_ohm_at_volts(const TungstenParameters& wire, double volts_rms) {
  FIRSTGLOW_REQUIRE(std::isfinite(volts_rms), "the volts across a wire are finite");
  return wire.ohm_at_kelvin(
      balance_kelvin(wire, [=](double ohm) { return volts_rms * volts_rms / ohm; }));
}

double equilibrium_ohm_at_amps(const TungstenParameters& wire, double amps_rms) {
  FIRSTGLOW_REQUIRE(std::isfinite(amps_rms), "the amps through a wire are finite");
  return wire.ohm_at_kelvin(
      balance_kelvin(wire, [=](double ohm) { return amps_rms * amps_rms * ohm; }));
}

}  // namespace firstglow::netlists
