#include <cmath>

#include "core/error.hpp"
#include "sim/studies/stick.hpp"

namespace firstglow::sim {

HardShort hard_short(core::Volts charge, core::Farads farads, core::Ohms ohms,
                     core::Henries henries) {
  const double volts = charge.si(), farad = farads.si(), ohm = ohms.si(), henry = henries.si();
  FIRSTGLOW_REQUIRE(volts > 0.0 && farad > 0.0 && ohm > 0.0 && henry > 0.0,
                    "a short has volts, farads, ohms and henries above 0");
  HardShort found;
  found.ohm = ohm;
  found.joules = 0.5 * farad * volts * volts;
  found.i2t = found.joules / ohm;
  const double decay = ohm / (2.0 * henry);
  const double square = decay * decay - 1.0 / (henry * farad);
  if (square < 0.0) {
    const double swing = std::sqrt(-square);
    found.peak_s = std::atan2(swing, decay) / swing;
    found.peak_a =
        volts / (swing * henry) * std::exp(-decay * found.peak_s) * std::sin(swing * found.peak_s);
  } else {
    // also good at critical damping: sinh(x)/x -> 1, atanh(x)/x -> 1
    const double rate = std::max(std::sqrt(square), 1e-9 * decay);
    found.peak_s = std::atanh(std::min(rate / decay, 1.0 - 1e-15)) / rate;
    found.peak_a =
        volts / (rate * henry) * std::exp(-decay * found.peak_s) * std::sinh(rate * found.peak_s);
  }
  return found;
}

}  // namespace firstglow::sim
