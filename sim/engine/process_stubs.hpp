#pragma once
/// @file
/// System functions the solver calls and the worker answers itself.
///
/// * clock() and ftime(): called several times per iteration for statistics nobody reads, a
///   third of the run time.
/// * getpwuid(): its answer is where ngspice looks for a start file `.spiceinit` of the user.
///   The stub names a home that cannot hold a file.
///
/// Defining them in an executable makes the library use them; so this goes into the worker
/// only, never into a program that needs the real ones.

namespace firstglow::sim {

/// Moves to a directory where no file can exist, points the solver's script path at a place
/// that cannot hold one and empties the environment. Call before the solver starts.
/// @throws core::SimulationError when the directory cannot be entered.
void block_start_files();
/// True when the solver asked for the home directory and was answered by the stub.
[[nodiscard]] bool start_files_were_blocked();

}  // namespace firstglow::sim
