#include "tests/published/full_wave_source.hpp"

#include <numbers>

#include "tests/published/lab.hpp"

namespace firstglow::published {
namespace {

using netlists::DeckNode;
using netlists::SineSourceElement;

void add_diode(FullWaveSource& result, DeckNode anode, DeckNode cathode) {
  result.diode = result.deck.add(-1, near_ideal_diode(anode, cathode));
}

void add_phase(FullWaveSource& result, double phase_deg) {
  const DeckNode anode = result.deck.add_node();
  result.source =
      result.deck.add(-1, SineSourceElement{anode, 0, kSourcePeakV, kSourceHertz, phase_deg});
  add_diode(result, anode, result.rectified);
}

}  // namespace

FullWaveSource half_wave_source() {
  FullWaveSource result;
  result.rectified = result.deck.add_node();
  add_phase(result, 0.0);
  return result;
}

FullWaveSource full_wave_source() {
  FullWaveSource result = half_wave_source();
  add_phase(result, 180.0);
  return result;
}

FullWaveSource bridge_source() {
  FullWaveSource result;
  result.rectified = result.deck.add_node();
  const DeckNode top = result.deck.add_node();
  const DeckNode bottom = result.deck.add_node();
  result.source =
      result.deck.add(-1, SineSourceElement{top, bottom, kSourcePeakV, kSourceHertz, 0.0});
  add_diode(result, 0, top);
  add_diode(result, 0, bottom);
  add_diode(result, bottom, result.rectified);
  add_diode(result, top, result.rectified);
  return result;
}

double rectified_harmonic(int n) { return 4.0 / (std::numbers::pi * (4.0 * n * n - 1.0)); }

}  // namespace firstglow::published
