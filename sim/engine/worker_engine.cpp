#include "sim/engine/worker_engine.hpp"

#include <cstdlib>
#include <filesystem>

#include "sim/engine/cancel.hpp"
#include "sim/engine/run_failure.hpp"

namespace firstglow::sim {
namespace {

constexpr unsigned long kAnswersPerProcess = 50000;
constexpr unsigned long kAnswersPerLook = 256;  // between two looks at the memory
constexpr int kMostKills = 5;                   // repeats of one run as it was asked
constexpr std::size_t kMostResidentBytes = std::size_t{300} << 20;

bool well_formed(const Waveforms& waveforms, const RunJob& job) {
  return waveforms.time_s.size() >= 2 && waveforms.node_v.size() == job.spec.nodes.size() &&
         waveforms.current_a.size() == job.spec.currents.size() &&
         waveforms.final_state.size() == netlists::state_elements(job.deck).size();
}

RunOutcome outcome_of(const Reply& reply, const RunJob& job) {
  try {
    if (reply.kind == FrameKind::waveforms) {
      Waveforms waveforms = decode_waveforms(reply.payload);
      if (well_formed(waveforms, job)) {
        return waveforms;
      }
    } else if (reply.kind == FrameKind::failure) {
      return decode_failure(reply.payload);
    }
  } catch (const ProtocolError& error) {
    return RunFailure{error.what(), 0.0, {}, -1, -1};
  }
  return RunFailure{"the worker's answer does not fit the question", 0.0, {}, -1, -1};
}

}  // namespace

Waveforms WorkerEngine::run(const netlists::Deck& deck, const RunSpec& spec) {
  netlists::check_deck(deck);
  check_run_spec(deck, spec);
  RunJob job{deck, spec};
  Attempt latest = attempt(job);
  for (int again = 0; again < kMostKills && latest.killed_from_outside; ++again) {
    latest = attempt(job);
  }
  // Kills never lead to the finer run: they must not change a figure.
  if (std::holds_alternative<RunFailure>(latest.outcome) && !latest.killed_from_outside) {
    if (job.spec.accuracy == Accuracy::fine) {
      job.spec.max_step_s *= 0.5;
    }
    job.spec.accuracy = Accuracy::fine;
    latest = attempt(job);
  }
  if (const auto* failure = std::get_if<RunFailure>(&latest.outcome)) {
    throw simulation_error(deck, spec, *failure);
  }
  return std::get<Waveforms>(std::move(latest.outcome));
}

WorkerEngine::Attempt WorkerEngine::attempt(const RunJob& job) {
  if (cancel_requested()) {
    process_.stop();
    throw Cancelled();
  }
  recycle_when_worn();
  const auto allowed = std::chrono::duration<double>(job.spec.deadline_s);
  const Deadline deadline =
      std::chrono::steady_clock::now() + std::chrono::duration_cast<Deadline::duration>(allowed);
  Reply reply;
  if (const auto trouble = process_.ask(frame(FrameKind::job, encode(job)), deadline, reply)) {
    return {RunFailure{trouble->message, 0.0, {}, -1, -1},
            trouble->kind == WorkerTrouble::Kind::killed};
  }
  Attempt result{outcome_of(reply, job), false};
  if (std::holds_alternative<RunFailure>(result.outcome)) {
    process_.stop();  // whatever went wrong, the next run starts from a fresh solver
  }
  return result;
}

void WorkerEngine::recycle_when_worn() {
  const unsigned long answers = process_.answers();
  const bool look = answers > 0 && answers % kAnswersPerLook == 0;
  if (answers >= kAnswersPerProcess || (look && process_.resident_bytes() > kMostResidentBytes)) {
    process_.stop();
  }
}

std::string find_worker_program(const std::string& wanted) {
  if (!wanted.empty()) {
    return wanted;
  }
  const char* named = std::getenv("FIRSTGLOW_WORKER");  // NOLINT(concurrency-mt-unsafe)
  if (named != nullptr && *named != '\0') {
    return named;
  }
  std::error_code error;
  const std::filesystem::path self = std::filesystem::read_symlink("/proc/self/exe", error);
  return (self.parent_path() / "firstglow-worker").string();
}

}  // namespace firstglow::sim
