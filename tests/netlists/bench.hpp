#pragma once
/// @file
/// Runs built decks through the engine and reads them as a meter would.

#include <cmath>
#include <string>
#include <vector>

#include "netlists/deck_builder.hpp"
#include "sim/engine/worker_pool.hpp"

namespace firstglow::test {

inline core::NodeIndex node_index(const core::Rig& rig, const std::string& name) {
  for (std::size_t i = 0; i < rig.nodes.size(); ++i) {
    if (rig.nodes[i].name == name) {
      return static_cast<core::NodeIndex>(i);
    }
  }
  throw core::ContractError("no node " + name);
}

inline int part_index(const core::Rig& rig, const std::string& designator) {
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (rig.parts[i].designator == designator) {
      return static_cast<int>(i);
    }
  }
  throw core::ContractError("no part " + designator);
}

/// One run of a rig in a situation, with every rig node and every part current kept.
class Bench {
 public:
  Bench(const core::Rig& rig, const netlists::Situation& situation, double stop_s,
        double step_s = 1.0 / 60.0 / 200.0, double save_from_s = 0.0)
      : rig_(rig), built_(netlists::build_deck(rig, situation)) {
    sim::RunSpec spec;
    spec.stop_s = stop_s;
    spec.max_step_s = step_s;
    spec.save_from_s = save_from_s;
    for (const auto& node : built_.node_of) {
      spec.nodes.push_back(node.value_or(0));
    }
    for (const netlists::PartCurrent& current : built_.currents) {
      spec.currents.push_back(current.element);
    }
    static sim::WorkerPool pool({1, {}});
    pool.for_each(
        1, [&](sim::Engine& engine, std::size_t) { waves_ = engine.run(built_.deck, spec); });
  }

  [[nodiscard]] const netlists::BuiltDeck& built() const { return built_; }
  [[nodiscard]] const sim::Waveforms& waves() const { return waves_; }

  [[nodiscard]] const std::vector<double>& volts(const std::string& node) const {
    return waves_.node_v[static_cast<std::size_t>(node_index(rig_, node))];
  }
  [[nodiscard]] const std::vector<double>& amps(const std::string& part, int section = 0) const {
    const int index = part_index(rig_, part);
    for (std::size_t i = 0; i < built_.currents.size(); ++i) {
      if (built_.currents[i].part == index && built_.currents[i].section == section) {
        return waves_.current_a[i];
      }
    }
    throw core::ContractError("no current of " + part);
  }

  /// Mean of a(t) b(t) over the last `span_s`.
  [[nodiscard]] double mean_product(const std::vector<double>& a, const std::vector<double>& b,
                                    double span_s) const {
    const std::vector<double>& t = waves_.time_s;
    const double from_s = t.back() - span_s;
    double sum = 0.0;
    for (std::size_t i = 1; i < t.size(); ++i) {
      const double start_s = std::max(t[i - 1], from_s);
      if (t[i] <= from_s) {
        continue;
      }
      const double share = (start_s - t[i - 1]) / (t[i] - t[i - 1]);
      const double first = a[i - 1] * b[i - 1];
      const double last = a[i] * b[i];
      sum += 0.5 * (first + share * (last - first) + last) * (t[i] - start_s);
    }
    return sum / span_s;
  }
  [[nodiscard]] double rms(const std::vector<double>& a, double span_s) const {
    return std::sqrt(mean_product(a, a, span_s));
  }
  [[nodiscard]] double mean(const std::vector<double>& a, double span_s) const {
    return mean_product(a, std::vector<double>(a.size(), 1.0), span_s);
  }

 private:
  const core::Rig& rig_;
  netlists::BuiltDeck built_;
  sim::Waveforms waves_;
};

}  // namespace firstglow::test
