#pragma once
/// @file
/// Two ideal sources in antiphase with a near-ideal diode each: what a filter test hangs on.

#include "netlists/deck.hpp"

namespace firstglow::published {

inline constexpr double kSourcePeakV = 10'000.0;
inline constexpr double kSourceHertz = 60.0;

struct FullWaveSource {
  netlists::Deck deck;
  netlists::DeckNode rectified = 0;  ///< joined cathodes
  netlists::ElementIndex source = -1, diode = -1;
};
/// Centre-tapped form, 10 kV peak, 60 Hz.
[[nodiscard]] FullWaveSource full_wave_source();
/// The same with one diode only.
[[nodiscard]] FullWaveSource half_wave_source();
/// Bridge of four near-ideal diodes on one floating source; `rectified` against the chassis.
[[nodiscard]] FullWaveSource bridge_source();

/// Amplitude of cosine harmonic 2n of a rectified sine of peak 1: 4 / (pi (4 n^2 - 1)).
[[nodiscard]] double rectified_harmonic(int n);

}  // namespace firstglow::published
