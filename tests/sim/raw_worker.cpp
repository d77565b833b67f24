/// @file
/// Test only: the locked-down worker, but taking raw SPICE lines. The shipped worker takes typed
/// decks and has no way to be given a line.

#include "sim/engine/byte_stream.hpp"
#include "sim/engine/ngspice_session.hpp"
#include "sim/engine/worker_service.hpp"

namespace {

using firstglow::sim::Answer;
using firstglow::sim::FrameKind;

Answer answer_lines(firstglow::sim::NgspiceSession& session, std::span<const std::byte> payload) {
  firstglow::sim::ByteReader in(payload);
  const auto stop_s = in.number<double>();
  std::vector<std::string> lines(in.count(sizeof(std::uint64_t)));
  for (std::string& line : lines) {
    line = in.text();
  }
  const firstglow::sim::SpiceResult result = session.run(lines, {"n1"}, stop_s);
  if (result.ok) {
    return {frame(FrameKind::waveforms,
                  encode(firstglow::sim::Waveforms{result.time_s, result.vectors, {}, {}})),
            false};
  }
  return {
      frame(FrameKind::failure, encode(firstglow::sim::RunFailure{result.message, result.reached_s,
                                                                  result.solver_lines, -1, -1})),
      result.fatal};
}

}  // namespace

int main(int argc, char** argv) {
  firstglow::sim::serve({argv, static_cast<std::size_t>(argc)}, answer_lines);
}
