/// @file
/// How many small runs a second, what a larger rig costs, and how much memory each command takes.
///
/// One run, side by side: the same small run on one worker and on two; a mains cycle of a supply
/// with filter sections added to it; wall time and memory of every command on the demo and on the
/// largest scenario (by parts), each with its workers.

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <string>
#include <vector>

#include "sim/engine/worker_pool.hpp"
#include "tests/envelope/long_runs.hpp"

namespace {

namespace netlists = firstglow::netlists;
using firstglow::sim::Engine;
using firstglow::sim::RunSpec;

constexpr double kCycleS = firstglow::test::kMainsPeriodS;

template <class Work>
double seconds_of(Work work) {
  const auto begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

/// A diode, a resistor and a capacitor on 162.6 V peak: one cycle in 50 steps.
netlists::Deck small_deck() {
  netlists::Deck deck;
  const auto source = deck.add_node(), output = deck.add_node();
  deck.add(-1, netlists::SineSourceElement{source, 0, 162.6, 60.0, 0.0});
  deck.add(-1, netlists::DiodeElement{source, output, 1e-9, 1.8, 20.0, 0.0});
  deck.add(-1, netlists::CapacitorElement{output, 0, 47e-6, 0.0});
  deck.add(-1, netlists::ResistorElement{output, 0, 2000.0});
  return deck;
}

double small_runs_a_second(int workers) {
  constexpr std::size_t kRuns = 4000;
  const netlists::Deck deck = small_deck();
  RunSpec spec;
  spec.stop_s = kCycleS;
  spec.max_step_s = kCycleS / 50.0;
  spec.nodes = {2};
  firstglow::sim::WorkerPool pool({workers, {}, 0});
  const auto run = [&](Engine& engine, std::size_t) { static_cast<void>(engine.run(deck, spec)); };
  pool.for_each(static_cast<std::size_t>(workers), run);  // start the processes
  return kRuns / seconds_of([&] { pool.for_each(kRuns, run); });
}

/// The filter supply with `sections` of resistor and capacitor behind it: `parts` elements in all.
void cost_by_size() {
  fmt::print("\n{:<12}{:>12}{:>16}\n", "elements", "ms a cycle", "over the first");
  firstglow::sim::WorkerPool pool({1, {}, 0});
  double first_ms = 0.0;
  for (const int elements : {20, 40, 80, 160}) {
    firstglow::test::FilterSupply supply = firstglow::test::filter_supply(20e3);
    auto last = std::get<netlists::CapacitorElement>(
                    supply.deck.elements[static_cast<std::size_t>(supply.output_c)].data)
                    .a;
    while (static_cast<int>(supply.deck.elements.size()) < elements) {
      const auto next = supply.deck.add_node();
      supply.deck.add(-1, netlists::ResistorElement{last, next, 1000.0});
      supply.deck.add(-1, netlists::CapacitorElement{next, 0, 1e-6, 0.0});
      last = next;
    }
    RunSpec spec;
    spec.stop_s = kCycleS;
    spec.max_step_s = kCycleS / 200.0;
    constexpr int kCycles = 200;
    double seconds = 0.0;
    pool.for_each(1, [&](Engine& engine, std::size_t) {
      seconds = seconds_of([&] {
        for (int i = 0; i < kCycles; ++i) {
          static_cast<void>(engine.run(supply.deck, spec));
        }
      });
    });
    const double ms = 1e3 * seconds / kCycles;
    first_ms = first_ms == 0.0 ? ms : first_ms;
    fmt::print("{:<12}{:>12.2f}{:>16.1f}\n", supply.deck.elements.size(), ms, ms / first_ms);
  }
}

/// Resident memory of a process and of its children, from /proc.
long resident_kb(pid_t parent) {
  long sum_kb = 0;
  const std::string list = fmt::format(
      "for p in {0} $(pgrep -P {0}); do grep VmRSS /proc/$p/status; done 2>/dev/null", parent);
  if (FILE* pipe = popen(list.c_str(), "r")) {
    char line[200];
    while (fgets(line, sizeof line, pipe) != nullptr) {
      long kb = 0;
      if (sscanf(line, "VmRSS: %ld", &kb) == 1) {
        sum_kb += kb;
      }
    }
    pclose(pipe);
  }
  return sum_kb;
}

void run_command(const std::string& rig, std::vector<std::string> words) {
  std::vector<std::string> all{FIRSTGLOW_PROGRAM, words.front(),
                               FIRSTGLOW_SOURCE_DIR "/scenarios/" + rig + "/rig.yaml"};
  all.insert(all.end(), words.begin() + 1, words.end());
  std::vector<char*> arguments;
  for (std::string& word : all) {
    arguments.push_back(word.data());
  }
  arguments.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
  posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
  pid_t child = 0;
  long peak_kb = 0;
  int status = 0;
  const double seconds = seconds_of([&] {
    if (posix_spawn(&child, all.front().c_str(), &actions, nullptr, arguments.data(), environ) !=
        0) {
      return;
    }
    while (waitpid(child, &status, WNOHANG) == 0) {
      peak_kb = std::max(peak_kb, resident_kb(child));
      usleep(50'000);
    }
  });
  posix_spawn_file_actions_destroy(&actions);
  fmt::print("{:<16}{:<9}{:>9.2f}{:>11.0f}{:>7}\n", rig, words.front(), seconds,
             static_cast<double>(peak_kb) / 1024.0, WIFEXITED(status) ? WEXITSTATUS(status) : -1);
}

}  // namespace

int main() {
  const double one = small_runs_a_second(1), two = small_runs_a_second(2);
  fmt::print(
      "small runs a second: {:.0f} on one worker, {:.0f} on two: {:.2f} times; {:.0f} a minute\n",
      one, two, two / one, 60.0 * two);
  cost_by_size();
  std::string folder = (std::filesystem::temp_directory_path() / "firstglow-bench-XXXXXX").string();
  if (mkdtemp(folder.data()) == nullptr) {
    fmt::print(stderr, "no folder for the sheet\n");
    return 1;
  }
  fmt::print("\n{:<16}{:<9}{:>9}{:>11}{:>7}\n", "rig", "command", "wall s", "peak MB", "exit");
  for (const char* rig : {"wrenfield-75", "saltmarsh-kw"}) {
    for (const std::vector<std::string>& words :
         std::vector<std::vector<std::string>>{{"check"},
                                               {"bleed"},
                                               {"inrush"},
                                               {"margins"},
                                               {"rampup"},
                                               {"course"},
                                               {"spread", "--draws", "1000"},
                                               {"sheet", "--no-pdf", "-o", folder}}) {
      run_command(rig, words);
    }
  }
  std::filesystem::remove_all(folder);
  return 0;
}
