#pragma once
/// @file
/// Does the fuse open when the highest supply is shorted to the chassis?

#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/engine/worker_pool.hpp"

namespace firstglow::sim {

/// One finding for each fuse that carries the fault: the current at which every fuse of its marking
/// opens in the end (core/fuse_law.hpp) against its current with the highest DC node shorted to
/// the chassis through 1 ohm, tubes out, lowest line. Below that current nothing promises that it
/// opens: unsafe. The times between which it opens stand in the note.
///
/// Left out: the fault of a single part ahead of the shorted node, and faults that draw less (a
/// leaking capacitor, shorted turns): a fuse that opens here may still carry those for good.
[[nodiscard]] std::vector<core::Finding> fuse_fault_findings(const core::Rig& rig,
                                                             WorkerPool& pool);

}  // namespace firstglow::sim
