#pragma once
/// @file
/// Where do the volts and the slow states of a supply go over minutes and hours?
///
/// A variac ramp takes minutes, re-forming hours; a mains cycle 17 ms. Only the state at the start
/// of each cycle is followed. One run of the engine over one cycle gives its drift
///
///     G(y, t) = (state after the cycle - y) / T,
///
/// and an implicit, L-stable integrator takes steps of seconds to minutes along it; straight after
/// an event the cycles themselves are run, one after the other, until what the event has set
/// ringing has died down. Without mains, and once the rectifiers are proved to have stopped, the
/// rest is linear and exact by matrix exponential. Derivation, measured errors, what is left out:
/// docs/methods/envelope.md.

#include <algorithm>
#include <string>
#include <vector>

#include "netlists/deck.hpp"
#include "sim/engine/engine.hpp"
#include "sim/envelope/slow_law.hpp"

namespace firstglow::sim {

/// A time in which the circuit stays the same; the amplitude of its sine sources may be ramped.
struct EnvelopeStretch {
  double length_s = 0.0;  ///< > 0; taken to the next whole mains cycle
  netlists::Deck deck;    ///< its start values count only for states nothing is carried into
  SlowLaws laws;
  /// Factor on every sine source at the start and at the end, linear in between; both 0 means that
  /// the mains is off.
  double from_share = 1.0, to_share = 1.0;

  [[nodiscard]] double share_at(double time_s) const {
    return from_share + (to_share - from_share) * std::clamp(time_s / length_s, 0.0, 1.0);
  }
};

struct EnvelopeOptions {
  double period_s = 0.0;      ///< of the mains, > 0
  double error_v = 0.1;       ///< error allowed in one step [V], > 0; amps and slow states in
                              ///< proportion to their size
  int steps_per_cycle = 200;  ///< of each cycle run
  int direct_cycles = 4;      ///< run one by one after every event, at least
};

/// A point on the course, in the order of EnvelopeCourse::units.
struct EnvelopePoint {
  double time_s = 0.0;        ///< from the start of the programme
  std::vector<double> value;  ///< states of the circuit, then slow states
  std::vector<double> rate;   ///< their time derivatives, seen over cycles
  double error_v = 0.0;       ///< bound of what steps so far have left in the capacitor volts
};

/// How a part of the course was found.
enum class EnvelopeWay { cycles, steps, exponential };

/// One stretch, done.
struct StretchCourse {
  double start_s = 0.0;
  std::vector<EnvelopePoint> points;  ///< from start to end, time rising
  std::vector<EnvelopeWay> ways;      ///< how each point but the first was reached
  std::vector<std::string> slow_names;

  /// Between points by cubic Hermite interpolation; at the ends by the end points.
  [[nodiscard]] EnvelopePoint at(double time_s) const;
};

struct EnvelopeCourse {
  std::vector<StretchCourse> stretches;
  int cycle_runs = 0;
  int steps_taken = 0, steps_refused = 0;
  double largest_error_v = 0.0;

  [[nodiscard]] double end_s() const;
  /// The stretch a time belongs to (at an event: the later one).
  [[nodiscard]] std::size_t stretch_at(double time_s) const;
};

/// @param start  states of the first deck and then of its laws; empty: as deck and laws say.
/// @throws SimulationError when a run fails; Cancelled.
[[nodiscard]] EnvelopeCourse follow_envelope(Engine& engine,
                                             const std::vector<EnvelopeStretch>& programme,
                                             const EnvelopeOptions& options,
                                             const std::vector<double>& start = {});

/// The deck of the mains cycle that begins at a point of a stretch: for readings.
[[nodiscard]] netlists::Deck deck_at(const EnvelopeStretch& stretch, double period_s,
                                     const EnvelopePoint& point, double time_in_stretch_s);

/// Start values for `to`: states of parts in both circuits are carried over (the n-th state element
/// of a part to the n-th of that part), others keep the deck's own start value.
[[nodiscard]] std::vector<double> carried_state(const netlists::Deck& from,
                                                const std::vector<double>& state,
                                                const netlists::Deck& to);

}  // namespace firstglow::sim
