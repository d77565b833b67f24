#include "core/oxide_law.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "core/electrolytic.hpp"
#include "core/error.hpp"

namespace firstglow::core {
namespace {

OxideCan some_can() { return {Volts(450.0), Amps(1e-4), Amps(4e-5), 0.03, 10.0, 100.0}; }

constexpr Kelvin kCool{293.15};

TEST(OxideLaw, LeaksNothingWithoutVolts) {
  EXPECT_EQ(leakage(some_can(), {Volts(300.0), kCool}, Volts(0.0)).total(), Amps());
  EXPECT_EQ(leakage(some_can(), {Volts(300.0), kCool}, Volts(-5.0)).total(), Amps());
}

// By definition of `standing` and `residual`, at 20 C.
TEST(OxideLaw, GivesItsOwnConstantsAtFormedAndRatedVolts) {
  const LeakageParts parts = leakage(some_can(), {Volts(450.0), kCool}, Volts(450.0));
  EXPECT_DOUBLE_EQ(parts.forming.si(), 4e-5);
  EXPECT_DOUBLE_EQ(parts.residual.si(), 1e-4);
}

// exp(30 x 0.1) = 20.09 at 10 % over the volts the film stands, by hand.
TEST(OxideLaw, FormingCurrentIsExponentialInTheField) {
  const LeakageParts parts = leakage(some_can(), {Volts(300.0), kCool}, Volts(330.0));
  EXPECT_NEAR(parts.forming.si(), 4e-5 * std::exp(3.0), 1e-12);
}

// 0.75 exp(-0.25/0.25) = 0.276: inside the 20 to 40 % of makers' curves (from memory 65 %).
TEST(OxideLaw, ResidualFallsToAQuarterAtThreeQuartersOfTheVolts) {
  const LeakageParts parts = leakage(some_can(), {Volts(450.0), kCool}, Volts(337.5));
  EXPECT_NEAR(parts.residual / Amps(1e-4), 0.2759, 5e-5);
}

TEST(OxideLaw, DoublesEveryFifteenKelvin) {
  const Amps cool = leakage(some_can(), {Volts(450.0), kCool}, Volts(440.0)).total();
  const Amps warm = leakage(some_can(), {Volts(450.0), Kelvin(308.15)}, Volts(440.0)).total();
  EXPECT_NEAR(warm / cool, 2.0, 1e-9);
}

TEST(OxideLaw, StaysFiniteFarAboveTheFilm) {
  const Amps huge = leakage(some_can(), {Volts(1.0), Kelvin(2000.0)}, Volts(600.0)).total();
  EXPECT_TRUE(huge.is_finite());
  EXPECT_GT(huge.si(), 1.0);
}

// 4e-5 A / 0.03 C per V, and 450 V x 0.14 mA = 63 mW into 100 J/K.
TEST(OxideLaw, MovesTheFilmByChargeAndTheCanByHeat) {
  const OxideRate rate = oxide_rate(some_can(), {Volts(450.0), kCool}, Volts(450.0), kCool);
  EXPECT_NEAR(rate.formed_v_per_s, 4e-5 / 0.03, 1e-9);
  EXPECT_NEAR(rate.can_k_per_s, 450.0 * 1.4e-4 / 100.0, 1e-9);
}

// a R P = 1/e is the edge: there the can settles 1/a = 15/ln 2 = 21.6 K above the air; by hand.
TEST(OxideLaw, RunsAwayJustAboveTheEdge) {
  const OxideCan can = some_can();
  const Amps edge = runaway_leakage(can, Volts(450.0));
  EXPECT_NEAR(edge.si(), 15.0 / (std::numbers::e * std::numbers::ln2 * 10.0 * 450.0), 1e-9);
  EXPECT_FALSE(settled_temperature(can, Volts(450.0), 1.01 * edge, kCool).has_value());
  const auto just = settled_temperature(can, Volts(450.0), 0.9999 * edge, kCool);
  ASSERT_TRUE(just.has_value());
  EXPECT_NEAR((*just - kCool).si(), 21.64, 0.5);
}

// The settled temperature balances: rise = R P 2^(rise/15).
TEST(OxideLaw, SettledTemperatureBalancesHeat) {
  const Amps some(5e-4);
  const auto found = settled_temperature(some_can(), Volts(450.0), some, kCool);
  ASSERT_TRUE(found.has_value());
  const double rise_k = (*found - kCool).si();
  EXPECT_NEAR(rise_k, 10.0 * 450.0 * 5e-4 * std::exp2(rise_k / 15.0), 1e-6);
}

TEST(OxideLaw, RefusesAFilmWithoutVolts) {
  EXPECT_THROW(static_cast<void>(leakage(some_can(), {Volts(0.0), kCool}, Volts(1.0))),
               ContractError);
}

// 40 uF 450 V: 4084 cm2 by 5.51 uF V per cm2 at 562.5 V; 2.375 mC per cm2 and volt by Faraday's
// law; 0.3 % of it damaged: 29.1 mC per volt. By hand.
TEST(Electrolytic, TakesTheFormingChargeFromFaradaysLaw) {
  const OxideCan can = oxide_can(Farads(40e-6), Volts(450.0), Amps(1.9e-3), {0.25, 0.003, 0.2},
                                 can_heat(std::nullopt, Farads(40e-6), Volts(450.0)));
  EXPECT_NEAR(can.charge_per_volt_c, 29.1e-3, 0.05e-3);
  EXPECT_NEAR(can.residual.si(), 0.38e-3, 1e-9);
  EXPECT_NEAR(can.standing.si(), 36e-6, 1e-9);
}

// 35 x 75 mm: side 82.5 cm2, ends 2 x 9.62 cm2, 101.7 cm2 at 10 W/(m2 K) is 9.83 K/W; by hand.
TEST(Electrolytic, LosesHeatThroughItsWholeSurface) {
  const CanHeat heat = can_heat(read_body_size("35x75 mm"), Farads(40e-6), Volts(450.0));
  EXPECT_NEAR(heat.thermal_k_per_w, 9.83, 0.01);
  EXPECT_FALSE(heat.size_assumed);
  EXPECT_TRUE(can_heat(std::nullopt, Farads(40e-6), Volts(450.0)).size_assumed);
}

TEST(Electrolytic, ReadsALifeAsItIsPrinted) {
  const auto life = read_rated_life("2000 h at 85 C");
  ASSERT_TRUE(life.has_value());
  EXPECT_DOUBLE_EQ(life->life.si(), 7.2e6);
  EXPECT_DOUBLE_EQ(life->temperature.si(), 358.15);
  EXPECT_TRUE(read_rated_life("2000h at 85C").has_value());
  for (const char* bad : {"", "2000 h", "2000 at 85 C", "2000 h at 85", "2000 h at 85 F",
                          "0 h at 85 C", "2000 h at 20 C", "-1 h at 85 C", "2000 h at 85 C now"}) {
    EXPECT_FALSE(read_rated_life(bad).has_value()) << bad;
  }
}

}  // namespace
}  // namespace firstglow::core
