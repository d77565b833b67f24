#pragma once
/// @file
/// The ngspice library behind one class: lines in, vectors or a reason out.
///
/// Return codes of the library say nearly nothing, so a run counts only when its data say so:
/// no error word while loading, the run's own title in the plot that was started, no abort
/// message, `time` up to the stop time, all vectors equally long and finite. After
/// a controlled exit the library may be damaged: the process has to end (`fatal`).

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

namespace firstglow::sim {

struct SpiceResult {
  bool ok = false;
  bool fatal = false;        ///< the process must not be used again
  std::string message;       ///< empty when ok
  std::string failing_name;  ///< node, branch or element the solver named; empty when none
  double reached_s = 0.0;
  std::vector<std::string> solver_lines;
  std::vector<double> time_s;
  std::vector<std::vector<double>> vectors;  ///< as asked for
};

/// One per process; not for use by several threads.
class NgspiceSession {
 public:
  /// Initialises the library. Reads `spinit` and `.spiceinit` where the process lets it find
  /// them, see block_start_files(). @throws core::SimulationError when that fails.
  NgspiceSession();
  ~NgspiceSession();
  NgspiceSession(const NgspiceSession&) = delete;
  NgspiceSession& operator=(const NgspiceSession&) = delete;

  /// Loads the lines (the title is replaced by one of our own), runs their `.tran` card and
  /// copies the named vectors. Never throws for what the solver does.
  [[nodiscard]] SpiceResult run(std::vector<std::string> lines,
                                const std::vector<std::string>& vectors, double stop_s);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace firstglow::sim
