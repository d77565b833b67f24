#pragma once
/// @file
/// What may the solver's process still do once it is started? Compute, and answer.

namespace firstglow::sim {

/// Asks the kernel to kill this process when the parent dies; ends it when that has happened
/// already. Ignores interrupts from the keyboard: the parent decides.
void follow_parent(int parent_pid);

/// No new file, no new process, no network, a bounded memory, no core file. Only what is open
/// stays usable. System calls outside the allow list fail with EPERM.
/// @throws core::SimulationError when the kernel refuses: then nothing must be run.
void lock_down();

}  // namespace firstglow::sim
