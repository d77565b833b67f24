/// @file
/// firstglow-worker: runs decks for a firstglow process and for nobody else.

#include <malloc.h>
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

/// The solver frees all it has after every run and asks for it again at once: freed memory stays
/// with the process.
void keep_freed_memory() {
  constexpr int kPlenty = 256 << 20;
  constexpr int kGrowth = 16 << 20;
  mallopt(M_TRIM_THRESHOLD, kPlenty);
  mallopt(M_MMAP_THRESHOLD, kPlenty);
  mallopt(M_TOP_PAD, kGrowth);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fputs("firstglow-worker is started by firstglow itself; run `firstglow --help`.\n",
               stderr);
    return 2;
  }
  keep_freed_memory();
  firstglow::sim::serve({argv, static_cast<std::size_t>(argc)}, answer_job);
}
