#pragma once
/// @file
/// Which kind of quantity is this number? Typed SI quantities for records, rules and public
/// functions.
///
/// Inside solvers use plain `double` with a unit suffix in the name; `.si()` is the border.

#include <cmath>
#include <compare>
#include <numbers>

namespace firstglow::core {

/// A number with a physical dimension, held in the SI unit of that dimension.
template <class Dimension>
class Quantity {
 public:
  constexpr Quantity() = default;
  explicit constexpr Quantity(double value_si) : si_(value_si) {}

  /// The bare value in the SI unit of the dimension.
  [[nodiscard]] constexpr double si() const { return si_; }
  [[nodiscard]] bool is_finite() const { return std::isfinite(si_); }

  // NOLINTNEXTLINE(modernize-use-nullptr): version 14 misreads the defaulted comparison.
  friend constexpr auto operator<=>(Quantity, Quantity) = default;
  friend constexpr Quantity operator+(Quantity a, Quantity b) { return Quantity(a.si_ + b.si_); }
  friend constexpr Quantity operator-(Quantity a, Quantity b) { return Quantity(a.si_ - b.si_); }
  friend constexpr Quantity operator*(Quantity a, double k) { return Quantity(a.si_ * k); }
  friend constexpr Quantity operator*(double k, Quantity a) { return Quantity(a.si_ * k); }
  friend constexpr Quantity operator/(Quantity a, double k) { return Quantity(a.si_ / k); }
  /// Ratio of two like quantities: a pure number.
  friend constexpr double operator/(Quantity a, Quantity b) { return a.si_ / b.si_; }

 private:
  double si_ = 0.0;
};

using Volts =
    Quantity<struct VoltsTag>;  ///< DC or instantaneous or peak volts; the name says which
using RmsVolts = Quantity<struct RmsVoltsTag>;  ///< root-mean-square volts of a sine
using Amps = Quantity<struct AmpsTag>;
using Ohms = Quantity<struct OhmsTag>;
using Farads = Quantity<struct FaradsTag>;
using Henries = Quantity<struct HenriesTag>;
using Watts = Quantity<struct WattsTag>;
using Joules = Quantity<struct JoulesTag>;
using Coulombs = Quantity<struct CoulombsTag>;
using Seconds = Quantity<struct SecondsTag>;
using Hertz = Quantity<struct HertzTag>;
using Kelvin = Quantity<struct KelvinTag>;
using AmpsSquaredSeconds = Quantity<struct AmpsSquaredSecondsTag>;  ///< melting or let-through I2t

/// Peak of a sine of the given rms value. The only crossing from RmsVolts to Volts.
[[nodiscard]] constexpr Volts peak_of_sine(RmsVolts rms) {
  return Volts(rms.si() * std::numbers::sqrt2);
}

/// Energy held by an ideal capacitor, E = C V^2 / 2.
[[nodiscard]] constexpr Joules stored_energy(Farads capacitance, Volts charge_v) {
  return Joules(0.5 * capacitance.si() * charge_v.si() * charge_v.si());
}

namespace literals {
constexpr Volts operator""_V(long double v) { return Volts(static_cast<double>(v)); }
constexpr Volts operator""_V(unsigned long long v) { return Volts(static_cast<double>(v)); }
constexpr RmsVolts operator""_Vrms(long double v) { return RmsVolts(static_cast<double>(v)); }
constexpr RmsVolts operator""_Vrms(unsigned long long v) {
  return RmsVolts(static_cast<double>(v));
}
constexpr Amps operator""_A(long double v) { return Amps(static_cast<double>(v)); }
constexpr Amps operator""_mA(long double v) { return Amps(static_cast<double>(v) * 1e-3); }
constexpr Amps operator""_mA(unsigned long long v) { return Amps(static_cast<double>(v) * 1e-3); }
constexpr Ohms operator""_ohm(long double v) { return Ohms(static_cast<double>(v)); }
constexpr Ohms operator""_ohm(unsigned long long v) { return Ohms(static_cast<double>(v)); }
constexpr Ohms operator""_kohm(long double v) { return Ohms(static_cast<double>(v) * 1e3); }
constexpr Ohms operator""_kohm(unsigned long long v) { return Ohms(static_cast<double>(v) * 1e3); }
constexpr Farads operator""_uF(long double v) { return Farads(static_cast<double>(v) * 1e-6); }
constexpr Farads operator""_uF(unsigned long long v) {
  return Farads(static_cast<double>(v) * 1e-6);
}
constexpr Henries operator""_H(long double v) { return Henries(static_cast<double>(v)); }
constexpr Henries operator""_H(unsigned long long v) { return Henries(static_cast<double>(v)); }
constexpr Watts operator""_W(long double v) { return Watts(static_cast<double>(v)); }
constexpr Watts operator""_W(unsigned long long v) { return Watts(static_cast<double>(v)); }
constexpr Joules operator""_J(long double v) { return Joules(static_cast<double>(v)); }
constexpr Joules operator""_J(unsigned long long v) { return Joules(static_cast<double>(v)); }
constexpr Seconds operator""_s(long double v) { return Seconds(static_cast<double>(v)); }
constexpr Seconds operator""_s(unsigned long long v) { return Seconds(static_cast<double>(v)); }
constexpr Hertz operator""_Hz(long double v) { return Hertz(static_cast<double>(v)); }
constexpr Hertz operator""_Hz(unsigned long long v) { return Hertz(static_cast<double>(v)); }
}  // namespace literals

}  // namespace firstglow::core
