/// @file
/// firstglow-worker: runs decks for a firstglow process and for nobody else.

#include <unistd.h>

#include <cstdio>

#include "sim/engine/deck_run.hpp"
#include "sim/engine/worker_service.hpp"

namespace {

using firstglow::sim::Answer;
using firstglow::sim::FrameKind;

Answer answer_job(firstglow::sim::NgspiceSession& session, std::span<const std::byte> payload) {
  const firstglow::sim::DeckRun run =
      firstglow::sim::run_deck(session, firstglow::sim::decode_job(payload));
  if (const auto* waveforms = std::get_if<firstglow::sim::Waveforms>(&run.outcome)) {
    return {frame(FrameKind::waveforms, encode(*waveforms)), run.fatal};
  }
  return {frame(FrameKind::failure, encode(std::get<firstglow::sim::RunFailure>(run.outcome))),
          run.fatal};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fputs("firstglow-worker is started by firstglow itself; run `firstglow --help`.\n",
               stderr);
    return 2;
  }
  firstglow::sim::serve({argv, static_cast<std::size_t>(argc)}, answer_job);
}
