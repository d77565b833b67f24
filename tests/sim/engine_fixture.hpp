#pragma once
/// @file
/// Circuits and helpers shared by the engine's tests.

#include <cstddef>
#include <vector>

#include "netlists/deck.hpp"
#include "sim/engine/worker_pool.hpp"

namespace firstglow::sim::testing {

inline constexpr double kMainsCycleSeconds = 1.0 / 60.0;

/// Runs one deck on a pool of its own.
Waveforms run_once(const netlists::Deck& deck, const RunSpec& spec);

/// Full-wave rectifier of a small supply: two ideal 162.6 V peak sources, 20 ohm each, two
/// diodes, 47 uF with 0.5 ohm in series, 2 kohm.
struct SmallRectifier {
  netlists::Deck deck;
  netlists::DeckNode output = 0;
  netlists::ElementIndex load = -1, diode = -1, capacitor = -1;
};
SmallRectifier small_rectifier();
/// Four mains cycles of it, 100 steps each, output voltage and load and diode current.
RunSpec four_cycles(const SmallRectifier& rectifier);

/// Process ids of the children of this process, zombies too.
std::vector<int> child_processes();
/// Resident memory of a process in bytes.
std::size_t resident_bytes(int pid);
/// Files and folders in the directory for temporary files.
std::vector<std::string> temporary_files();

bool same_bits(const Waveforms& a, const Waveforms& b);

}  // namespace firstglow::sim::testing
