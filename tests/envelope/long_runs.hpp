#pragma once
/// @file
/// Programmes of minutes and hours, followed by the envelope and, to compare, cycle by cycle.

#include <vector>

#include "sim/envelope/envelope.hpp"

namespace firstglow::test {

inline constexpr double kMainsPeriodS = 1.0 / 60.0;

/// Full-wave supply of two 500 V windings (open circuit, rms), 70 ohm and 60 mH each; snubbered
/// silicon; 16 uF, 10 H with 100 ohm, 47 uF; 50 kohm across and `load_ohm` on it: some 650 V.
struct FilterSupply {
  netlists::Deck deck;
  netlists::ElementIndex input_c = -1, output_c = -1, choke = -1;
  /// Absorption of the output capacitor: a branch of `share` of it with `time_s`.
  void absorb(double share, double time_s, const std::string& name, sim::SlowLaws& laws);
  /// Leakage of the output capacitor through a film that forms: see FormingFilm in the .cpp.
  void leak(double formed_v, sim::SlowLaws& laws);
};
[[nodiscard]] FilterSupply filter_supply(double load_ohm);

/// 0 to full line in one even ramp.
[[nodiscard]] std::vector<sim::EnvelopeStretch> even_ramp(double length_s);
/// Four turns of the variac of 3 s each at 0, 60, 120 and 180 s, the load from 20 to 5 kohm at
/// 400 s, mains off at 500 s, to 600 s; a film that forms and two absorption branches.
[[nodiscard]] std::vector<sim::EnvelopeStretch> hard_programme();

/// Capacitor volts and choke amps at a time.
struct DirectPoint {
  double time_s = 0.0;
  std::vector<double> value;  ///< as EnvelopePoint::value
};

/// The same programme by the engine's own transient, in pieces of `piece_cycles`; slow laws move
/// between the pieces, held in each where they are at its middle.
[[nodiscard]] std::vector<DirectPoint> follow_directly(
    sim::Engine& engine, const std::vector<sim::EnvelopeStretch>& programme, int piece_cycles);

/// Largest difference of a capacitor's volts at the points of the direct course, each judged
/// against the envelope at the same time.
struct Difference {
  double volts = 0.0, at_s = 0.0;
  double first_second_v = 0.0;  ///< within a second after the start of a stretch
};
[[nodiscard]] Difference difference_of(const std::vector<sim::EnvelopeStretch>& programme,
                                       const sim::EnvelopeCourse& course,
                                       const std::vector<DirectPoint>& direct);

}  // namespace firstglow::test
