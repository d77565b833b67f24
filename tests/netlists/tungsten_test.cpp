#include "netlists/tungsten.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "core/error.hpp"
#include "netlists/radiation.hpp"

namespace firstglow::netlists {
namespace {

LampInSeries lamp(double watts, double volts = 120.0) {
  return LampInSeries{core::Watts(watts), core::RmsVolts(volts)};
}

core::Heater heater() {
  core::Heater heater;
  heater.rated_volts = core::RmsVolts(6.3);
  heater.hot = core::Ohms(0.82);
  heater.cold = core::Ohms(0.13);
  return heater;
}

/// Time until the resistance under held rms volts has made `share` of its rise, by small steps.
double rise_time_s(const TungstenParameters& wire, double volts_rms, double share) {
  double kelvin = kRoomKelvin;
  const double goal_ohm = wire.cold_ohm + share * (wire.hot_ohm() - wire.cold_ohm);
  double time_s = 0.0;
  for (const double step_s = 1e-5; wire.ohm_at_kelvin(kelvin) < goal_ohm && time_s < 60.0;
       time_s += step_s) {
    const double in_w = volts_rms * volts_rms / wire.ohm_at_kelvin(kelvin);
    const double out_w = radiated_w(wire, kelvin);
    kelvin += step_s * (in_w - out_w) / wire.heat_j_per_k;
  }
  return time_s;
}

TEST(Tungsten, HasRatedOhmsAtRatedWatts) {
  const TungstenParameters wire = tungsten_of(lamp(100.0));
  EXPECT_NEAR(wire.hot_ohm(), 144.0, 1e-9);
  EXPECT_NEAR(ohm_at_power(wire, 100.0), 144.0, 1e-9);
  EXPECT_NEAR(equilibrium_ohm_at_volts(wire, 120.0), 144.0, 1e-6);
  EXPECT_NEAR(equilibrium_ohm_at_amps(wire, 100.0 / 120.0), 144.0, 1e-6);
}

TEST(Tungsten, HasColdOhmsWithoutPower) {
  const TungstenParameters wire = tungsten_of(lamp(60.0));
  EXPECT_NEAR(ohm_at_power(wire, 0.0), wire.cold_ohm, 1e-9);
  EXPECT_NEAR(equilibrium_ohm_at_volts(wire, 0.0), wire.cold_ohm, 1e-9);
  EXPECT_NEAR(equilibrium_ohm_at_amps(wire, 0.0), wire.cold_ohm, 1e-9);
  // [FORSYTHE-1925]: 84.70 / 5.65 at 2800 K; the trade's 13 to 15 (from memory) is the same figure.
  EXPECT_NEAR(wire.hot_ohm() / wire.cold_ohm, 14.99, 0.02 * 14.99);
}

// [RERATING] amps go as volts to the power 0.55: at half volts 0.683 of the rated amps.
TEST(Tungsten, DrawsTheReratedCurrentAtHalfVolts) {
  const TungstenParameters wire = tungsten_of(lamp(100.0));
  const double amps = 60.0 / equilibrium_ohm_at_volts(wire, 60.0);
  EXPECT_NEAR(amps / (100.0 / 120.0), 0.683, 0.05 * 0.683) << "[RERATING] p. 22-8";
}

TEST(Tungsten, AgreesWithItselfAcrossTheThreeQuestions) {
  const TungstenParameters wire = tungsten_of(heater());
  for (const double volts : {0.5, 2.0, 6.3, 7.5}) {
    const double ohm = equilibrium_ohm_at_volts(wire, volts);
    EXPECT_NEAR(ohm_at_power(wire, volts * volts / ohm), ohm, 1e-9) << volts;
    EXPECT_NEAR(equilibrium_ohm_at_amps(wire, volts / ohm), ohm, 1e-9) << volts;
  }
}

// Ohms go as watts to the power 0.3, so asking by watts settles fast whatever else is in the loop:
// here 120 V through 1, 100 and 10 000 ohm.
TEST(Tungsten, SettlesFastWhenAskedByWatts) {
  const TungstenParameters wire = tungsten_of(lamp(100.0));
  for (const double series_ohm : {1.0, 100.0, 1e4}) {
    const auto next = [&](double ohm) {
      const double amps = 120.0 / (series_ohm + ohm);
      return ohm_at_power(wire, amps * amps * ohm);
    };
    double ohm = wire.cold_ohm;
    for (int round = 0; round < 12; ++round) {
      ohm = next(ohm);
    }
    EXPECT_NEAR(next(ohm), ohm, 1e-4 * ohm) << series_ohm;
  }
}

// 300 K (0.82 / 0.13)^(1/1.218) = 1361 K (by hand).
TEST(Tungsten, TakesTheHeaterTemperatureFromItsRatio) {
  const TungstenParameters wire = tungsten_of(heater());
  EXPECT_NEAR(wire.hot_k, 1361.0, 1.0);
  EXPECT_NEAR(equilibrium_ohm_at_volts(wire, 6.3), 0.82, 1e-9);
}

// Orders of size from memory: a lamp is bright within about a tenth of a second, an indirectly
// heated tube takes 3 to 10 s.
TEST(Tungsten, WarmsInTheTimePeopleKnow) {
  const double lamp_s = rise_time_s(tungsten_of(lamp(100.0)), 120.0, 0.9);
  EXPECT_GT(lamp_s, 0.03);
  EXPECT_LT(lamp_s, 0.3);
  const double heater_s = rise_time_s(tungsten_of(heater()), 6.3, 0.632);
  EXPECT_GT(heater_s, 3.0);
  EXPECT_LT(heater_s, 10.0);
}

// Thicker wire of a stronger lamp is slower; measure of mass: watts to the power 5/3.
TEST(Tungsten, GivesStrongerLampsMoreHeat) {
  EXPECT_NEAR(tungsten_of(lamp(200.0)).heat_j_per_k / tungsten_of(lamp(100.0)).heat_j_per_k,
              std::pow(2.0, 5.0 / 3.0), 1e-12);
}

TEST(Tungsten, RefusesWiresThatCannotBe) {
  EXPECT_THROW((void)tungsten_of(lamp(0.0)), core::ContractError);
  EXPECT_THROW((void)tungsten_of(lamp(60.0, 0.0)), core::ContractError);
  core::Heater backwards = heater();
  backwards.hot = core::Ohms(0.1);
  EXPECT_THROW((void)tungsten_of(backwards), core::ContractError);
}

}  // namespace
}  // namespace firstglow::netlists
