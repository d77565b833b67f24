// Lamps, heaters and thermistors against tables and laws of other people.
#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "netlists/thermistor.hpp"
#include "netlists/transformer_model.hpp"
#include "netlists/tungsten.hpp"
#include "tests/published/published.hpp"

namespace firstglow::published {
namespace {

using netlists::LampInSeries;
using netlists::TungstenParameters;

TungstenParameters lamp(double watts, double volts) {
  return netlists::tungsten_of(LampInSeries{core::Watts(watts), core::RmsVolts(volts)});
}

// Resistivity of tungsten, uohm cm at 300, 400, ... 3600 K, as printed; the wire's own ratio to its
// value at 300 K (5.65) is what counts. 2 % is what one power law can do over the whole range.
constexpr std::array kMicroOhmCm{5.65,  8.06,  10.56, 13.23, 16.09, 19.00, 21.94, 24.93, 27.94,
                                 30.98, 34.08, 37.19, 40.36, 43.55, 46.78, 50.05, 53.35, 56.67,
                                 60.06, 63.48, 66.91, 70.39, 73.91, 77.49, 81.04, 84.70, 88.33,
                                 92.04, 95.76, 99.54, 103.3, 107.2, 111.1, 115.0};

TEST(TungstenPublished, FollowsTheResistivityTableWithinTwoPercent) {
  const TungstenParameters wire = lamp(100.0, 120.0);
  for (std::size_t i = 0; i < kMicroOhmCm.size(); ++i) {
    const double kelvin = 300.0 + 100.0 * static_cast<double>(i);
    EXPECT_TRUE(agrees(wire.ohm_at_kelvin(kelvin) / wire.cold_ohm,
                       {kMicroOhmCm.at(i) / 5.65, 0.02, 0.0, "[FORSYTHE-1925] resistivity"}))
        << kelvin << " K";
  }
}

// [RERATING] amps as volts to the 0.55, watts to the 1.6, between 0.3 and 1.1 of the rated volts.
// The radiation exponent is worked out from the first of the two. They differ by 1.05 where plain
// Ohm's law wants 1: the source rounds, so the second is allowed as much.
TEST(TungstenPublished, LampsFollowTheReratingExponents) {
  for (const double volts : {120.0, 230.0}) {
    for (const double watts : {25.0, 40.0, 60.0, 100.0, 150.0, 200.0, 300.0}) {
      const TungstenParameters wire = lamp(watts, volts);
      const auto amps_at = [&](double share) {
        return share * volts / netlists::equilibrium_ohm_at_volts(wire, share * volts);
      };
      const double slope = std::log(amps_at(1.1) / amps_at(0.3)) / std::log(1.1 / 0.3);
      EXPECT_TRUE(agrees(slope, {0.55, 0.0, 5e-3, "[RERATING] current exponent"})) << watts;
      EXPECT_TRUE(agrees(1.0 + slope, {1.6, 0.0, 0.055, "[RERATING] power exponent"})) << watts;
      EXPECT_TRUE(agrees(amps_at(0.5) / amps_at(1.0),
                         {std::pow(0.5, 0.55), 0.01, 0.0, "[RERATING] half volts"}));
      EXPECT_TRUE(agrees(wire.hot_ohm(), {volts * volts / watts, 1e-9, 0.0, "by hand: V^2 / P"}));
    }
  }
}

// One small lamp: cold 65 ohm, rated 700 ohm at 28 V and 40 mA, between them 188 ohm at 7.4 mA and
// 111 ohm at 4.5 mA as somebody else measured. Nothing of the model was chosen by it. At 7.4 mA, a
// twentieth of its volts, within 8 %. At 4.5 mA, half a volt and 0.2 % of its watts, what the
// supports lead off is missed, and the model is a tenth too high.
TEST(TungstenPublished, SmallLampComesNearItsMeasuredPoints) {
  core::Heater bulb;
  bulb.rated_volts = core::RmsVolts(28.0);
  bulb.hot = core::Ohms(700.0);
  bulb.cold = core::Ohms(65.0);
  const TungstenParameters wire = netlists::tungsten_of(bulb);
  EXPECT_TRUE(agrees(netlists::equilibrium_ohm_at_amps(wire, 0.040),
                     {700.0, 1e-3, 0.0, "[ELLIOTT-LAMP] 28 V, 40 mA"}));
  const double faint_ohm = netlists::equilibrium_ohm_at_amps(wire, 0.0074);
  EXPECT_TRUE(agrees(faint_ohm, {188.0, 0.08, 0.0, "[ELLIOTT-LAMP] 1.39 V, 7.4 mA"}));
  EXPECT_TRUE(agrees(netlists::equilibrium_ohm_at_amps(wire, 0.0045),
                     {111.0, 0.12, 0.0, "[ELLIOTT-LAMP] 0.5 V, 4.5 mA"}));
  // Cold surge: 28 V over 65 ohm.
  EXPECT_TRUE(agrees(28.0 / wire.cold_ohm, {0.431, 0.0, 5.1e-4, "[ELLIOTT-LAMP] cold peak"}));
}

// The B law of every thermistor sheet: 10 ohm, B 3000 K gives 1.32 ohm at 100 C (by hand).
TEST(ThermistorPublished, FollowsTheBLaw) {
  core::NtcLimiter part;
  part.cold = core::Ohms(10.0);
  part.hot = core::Ohms(1.3225);
  part.rated_current = core::Amps(2.0);
  part.beta = core::Kelvin(3000.0);
  part.thermal_time = core::Seconds(40.0);
  const auto law = netlists::thermistor_of(part);
  EXPECT_TRUE(agrees(law.ohm_at_kelvin(373.15),
                     {1.32, 0.0, 5.1e-3, "by hand: 10 exp(3000 (1/373.15 - 1/298.15))"}));
  EXPECT_NEAR(netlists::hot_kelvin(part), 373.15, 0.1);
  // Settled at the rated amps it has the rated hot ohms, and gives off I^2 R (by hand: 5.29 W).
  EXPECT_NEAR(netlists::settled_ohm_at_amps(law, 2.0), 1.3225, 1e-6);
  EXPECT_NEAR(law.w_per_k * 75.0, 5.29, 0.01);
  EXPECT_NEAR(netlists::settled_ohm_at_amps(law, 0.0), 10.0, 1e-6);
}

// [IEC-61558-1] 14.2: 12.0 ohm at 22 C and 14.4 ohm after the run mean a rise of 51.3 K.
TEST(CopperPublished, RiseByResistanceMeetsTheStandard) {
  const double before = netlists::copper_factor(22.0 - 20.0);
  const double after = netlists::copper_factor(22.0 + 51.3 - 20.0);
  EXPECT_TRUE(agrees(12.0 * after / before,
                     {14.4, 0.0, 0.006, "[IEC-61558-1] 14.2: (R2-R1)/R1 (234.5+t1) = 51.3 K"}));
}

}  // namespace
}  // namespace firstglow::published
