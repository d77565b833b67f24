#pragma once
/// @file
/// Raw SPICE lines through the test worker.

#include <chrono>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "sim/engine/byte_stream.hpp"
#include "sim/engine/worker_process.hpp"

namespace firstglow::sim::testing {

struct RawAnswer {
  std::optional<WorkerTrouble> trouble;
  std::optional<Waveforms> waveforms;
  std::string text;  ///< error message and solver lines

  /// The 1 V sine of good_lines() came back.
  [[nodiscard]] bool good() const {
    if (!waveforms || waveforms->node_v.empty()) {
      return false;
    }
    for (std::size_t i = 0; i < waveforms->time_s.size(); ++i) {
      const double expected = std::sin(2.0 * 3.141592653589793 * 60.0 * waveforms->time_s[i]);
      if (!(std::abs(waveforms->node_v[0][i] - expected) < 1e-6)) {
        return false;
      }
    }
    return waveforms->time_s.size() > 50;
  }
};

inline std::vector<std::string> good_lines() {
  return {"title", "v1 n1 0 sin(0 1 60)", "r1 n1 0 1k", ".tran 1e-4 0.01 0 1e-4 uic", ".end"};
}

inline RawAnswer ask_raw(WorkerProcess& worker, const std::vector<std::string>& lines,
                         std::chrono::milliseconds allowed = std::chrono::seconds(5)) {
  ByteWriter out;
  out.number(0.01);
  out.number<std::uint64_t>(lines.size());
  for (const std::string& line : lines) {
    out.text(line);
  }
  RawAnswer answer;
  Reply reply;
  answer.trouble = worker.ask(frame(FrameKind::job, out.take()),
                              std::chrono::steady_clock::now() + allowed, reply);
  if (answer.trouble) {
    answer.text = answer.trouble->message;
  } else if (reply.kind == FrameKind::waveforms) {
    answer.waveforms = decode_waveforms(reply.payload);
  } else {
    const RunFailure failure = decode_failure(reply.payload);
    answer.text = failure.message;
    for (const std::string& line : failure.solver_lines) {
      answer.text += '\n' + line;
    }
    worker.stop();
  }
  return answer;
}

}  // namespace firstglow::sim::testing
