#pragma once
/// @file
/// The worker's side of the socket: frames in, frames out, until the pool closes it.

#include <cstddef>
#include <functional>
#include <span>

#include "sim/engine/ngspice_session.hpp"
#include "sim/engine/protocol.hpp"

namespace firstglow::sim {

struct Answer {
  Bytes frame;
  bool last = false;  ///< the process must end after it
};

/// Answers the payload of one job.
using AnswerJob = std::function<Answer(NgspiceSession&, std::span<const std::byte>)>;

/// Closes every file but standard ones and the socket, blocks start files, starts the solver,
/// locks the process down, says hello, then calls `answer` for every job's payload.
/// Never returns: the process ends when the pool closes the socket or on trouble.
/// @param arguments  of main(): the parent's process id in decimal.
[[noreturn]] void serve(std::span<char*> arguments, const AnswerJob& answer);

}  // namespace firstglow::sim
