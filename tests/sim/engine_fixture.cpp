#include "tests/sim/engine_fixture.hpp"

#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>

namespace firstglow::sim::testing {

using netlists::CapacitorElement;
using netlists::DiodeElement;
using netlists::ResistorElement;
using netlists::SineSourceElement;

Waveforms run_once(const netlists::Deck& deck, const RunSpec& spec) {
  WorkerPool pool({1, {}});
  Waveforms result;
  pool.for_each(1, [&](Engine& engine, std::size_t) { result = engine.run(deck, spec); });
  return result;
}

SmallRectifier small_rectifier() {
  SmallRectifier r;
  netlists::Deck& d = r.deck;
  const int s1 = d.add_node();
  const int s2 = d.add_node();
  const int a1 = d.add_node();
  const int a2 = d.add_node();
  const int inner = d.add_node();
  r.output = d.add_node();
  d.add(0, SineSourceElement{s1, 0, 162.6, 60.0, 0.0});
  d.add(0, SineSourceElement{s2, 0, 162.6, 60.0, 180.0});
  d.add(0, ResistorElement{s1, a1, 20.0});
  d.add(0, ResistorElement{s2, a2, 20.0});
  r.diode = d.add(1, DiodeElement{a1, r.output, 1e-9, 1.8, 0.1, 0.0});
  d.add(2, DiodeElement{a2, r.output, 1e-9, 1.8, 0.1, 0.0});
  r.capacitor = d.add(3, CapacitorElement{r.output, inner, 47e-6});
  d.add(3, ResistorElement{inner, 0, 0.5});
  r.load = d.add(4, ResistorElement{r.output, 0, 2e3});
  return r;
}

RunSpec four_cycles(const SmallRectifier& rectifier) {
  RunSpec spec;
  spec.stop_s = 4 * kMainsCycleSeconds;
  spec.max_step_s = kMainsCycleSeconds / 100;
  spec.nodes = {rectifier.output};
  spec.currents = {rectifier.load, rectifier.diode};
  return spec;
}

std::vector<int> child_processes() {
  std::vector<int> children;
  for (const auto& entry : std::filesystem::directory_iterator("/proc")) {
    std::ifstream file(entry.path() / "status");
    const std::string wanted = "PPid:\t" + std::to_string(getpid());
    for (std::string line; std::getline(file, line);) {
      if (line == wanted) {
        children.push_back(std::stoi(entry.path().filename().string()));
      }
    }
  }
  return children;
}

std::size_t resident_bytes(int pid) {
  std::ifstream file("/proc/" + std::to_string(pid) + "/statm");
  std::size_t total = 0;
  std::size_t resident = 0;
  file >> total >> resident;
  return resident * static_cast<std::size_t>(sysconf(_SC_PAGESIZE));
}

std::vector<std::string> temporary_files() {
  std::vector<std::string> names;
  const auto place = std::filesystem::temp_directory_path();
  for (const auto& entry : std::filesystem::directory_iterator(place)) {
    names.push_back(entry.path().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

bool same_bits(const Waveforms& a, const Waveforms& b) {
  return a.time_s == b.time_s && a.node_v == b.node_v && a.current_a == b.current_a &&
         a.final_state == b.final_state;
}

}  // namespace firstglow::sim::testing
