#include "sim/engine/run_memory.hpp"

#include <algorithm>
#include <iterator>
#include <list>
#include <mutex>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "sim/engine/protocol.hpp"

namespace firstglow::sim {
namespace {

/// Everything a run depends on: all but what is kept of it.
std::string question_of(const netlists::Deck& deck, const RunSpec& spec) {
  RunJob job{deck, spec};
  job.spec.nodes.clear();
  job.spec.currents.clear();
  const Bytes bytes = encode(job);
  std::string question(bytes.size(), '\0');
  std::transform(bytes.begin(), bytes.end(), question.begin(),
                 [](std::byte b) { return static_cast<char>(b); });
  return question;
}

/// `all` in the order of `wanted`; empty when one of them is not there.
template <class Name>
std::optional<std::vector<std::vector<double>>> chosen(
    const std::vector<Name>& wanted, const std::vector<Name>& kept,
    const std::vector<std::vector<double>>& all) {
  std::vector<std::vector<double>> columns;
  for (const Name name : wanted) {
    const auto found = std::find(kept.begin(), kept.end(), name);
    if (found == kept.end()) {
      return std::nullopt;
    }
    columns.push_back(all[static_cast<std::size_t>(found - kept.begin())]);
  }
  return columns;
}

/// An answer larger than this share of the memory is not kept: a long transient would drive out
/// hundreds of cycles.
constexpr std::size_t kLargestShare = 100;

struct Kept {
  std::string question;
  std::vector<netlists::DeckNode> nodes;
  std::vector<netlists::ElementIndex> currents;
  Waveforms waves;

  [[nodiscard]] std::size_t bytes() const {
    const std::size_t columns = 1 + nodes.size() + currents.size();
    return question.size() +
           sizeof(double) * (columns * waves.time_s.size() + waves.final_state.size());
  }
};

}  // namespace

struct RunMemory::Impl {
  std::size_t most_bytes;
  std::mutex mutex;
  std::list<Kept> latest_first;
  /// Keys lie in the list.
  std::unordered_map<std::string_view, std::list<Kept>::iterator> by_question;
  std::size_t bytes = 0;

  void forget(std::list<Kept>::iterator kept) {
    bytes -= kept->bytes();
    by_question.erase(kept->question);
    latest_first.erase(kept);
  }
};

RunMemory::RunMemory(std::size_t most_bytes) : impl_(std::make_unique<Impl>()) {
  impl_->most_bytes = most_bytes;
}
RunMemory::~RunMemory() = default;

std::size_t RunMemory::bytes() const {
  const std::lock_guard lock(impl_->mutex);
  return impl_->bytes;
}

std::optional<Waveforms> RunMemory::find(const netlists::Deck& deck, const RunSpec& spec) {
  if (impl_->most_bytes == 0) {
    return std::nullopt;
  }
  const std::string question = question_of(deck, spec);
  const std::lock_guard lock(impl_->mutex);
  const auto found = impl_->by_question.find(question);
  if (found == impl_->by_question.end()) {
    return std::nullopt;
  }
  const Kept& kept = *found->second;
  auto node_v = chosen(spec.nodes, kept.nodes, kept.waves.node_v);
  auto current_a = chosen(spec.currents, kept.currents, kept.waves.current_a);
  if (!node_v || !current_a) {
    return std::nullopt;
  }
  auto& list = impl_->latest_first;
  list.splice(list.begin(), list, found->second);
  return Waveforms{kept.waves.time_s, *std::move(node_v), *std::move(current_a),
                   kept.waves.final_state};
}

void RunMemory::keep(const netlists::Deck& deck, const RunSpec& spec, const Waveforms& waves) {
  if (impl_->most_bytes == 0) {
    return;
  }
  Kept kept{question_of(deck, spec), spec.nodes, spec.currents, waves};
  if (kept.bytes() > impl_->most_bytes / kLargestShare) {
    return;
  }
  const std::lock_guard lock(impl_->mutex);
  if (const auto old = impl_->by_question.find(kept.question); old != impl_->by_question.end()) {
    impl_->forget(old->second);
  }
  impl_->bytes += kept.bytes();
  impl_->latest_first.push_front(std::move(kept));
  impl_->by_question.emplace(impl_->latest_first.front().question, impl_->latest_first.begin());
  while (impl_->bytes > impl_->most_bytes) {
    impl_->forget(std::prev(impl_->latest_first.end()));
  }
}

Waveforms RememberingEngine::run(const netlists::Deck& deck, const RunSpec& spec) {
  if (std::optional<Waveforms> waves = memory_.find(deck, spec)) {
    return *std::move(waves);
  }
  Waveforms waves = engine_.run(deck, spec);
  memory_.keep(deck, spec, waves);
  return waves;
}

}  // namespace firstglow::sim
