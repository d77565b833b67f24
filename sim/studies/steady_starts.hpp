#pragma once
/// @file
/// With how many volts do the steady situations leave the capacitors?

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/studies/rig_run.hpp"
#include "sim/studies/start_outcome.hpp"

namespace firstglow::sim {

/// Work for one worker; jobs of one list do not ask for each other's results.
using StartJob = std::function<void(Engine&)>;

/// Steady states of every stage from the filter on, at high line: nominal, then with each
/// tolerance by itself, then with all that raise a figure together. Tolerances of bleeders and
/// equalisers; of every part at the cold stage, whose switch-on is followed only until its swings
/// are over. The lists of jobs are run one after the other; outcomes do not depend on which worker
/// ran what.
class SteadyStarts {
 public:
  /// @param cold_stage  the last stage with the tubes out that the rig has
  SteadyStarts(const core::Rig& rig, netlists::Stage cold_stage);

  [[nodiscard]] std::vector<StartJob> cold_jobs();      ///< nominal, the cold stage
  [[nodiscard]] std::vector<StartJob> other_jobs();     ///< nominal, the others, found near it
  [[nodiscard]] std::vector<StartJob> single_jobs();    ///< each tolerance
  [[nodiscard]] std::vector<StartJob> combined_jobs();  ///< what they say together

  /// All of them, stage by stage.
  [[nodiscard]] std::vector<const StartOutcome*> outcomes() const;
  /// Stands at the nominal steady state of the cold stage.
  [[nodiscard]] std::shared_ptr<const SteadyRunner> cold() const { return chains_.front().nominal; }

 private:
  struct Chain {
    netlists::Stage stage;
    std::vector<std::string> parts;  ///< whose tolerances are looked at
    std::shared_ptr<SteadyRunner> nominal = nullptr;
    std::vector<StartOutcome> singles = {};  ///< as single_corners(parts); the first is nominal
    std::vector<std::optional<PeriodicPoint>> points = {};  ///< of these, where one was found
    std::vector<StartOutcome> combined = {};
  };
  struct Found {
    StartOutcome outcome;
    std::optional<PeriodicPoint> point;
  };

  [[nodiscard]] Found found(SteadyRunner& runner, netlists::Stage stage,
                            const Corner& corner) const;
  void find_nominal(Chain& chain);
  void find_both_ends(Engine& engine, Chain& chain, std::size_t part);
  [[nodiscard]] StartOutcome corner_of(Engine& engine, const Chain& chain,
                                       const Corner& corner) const;

  const core::Rig& rig_;
  std::vector<Chain> chains_;  ///< the cold stage first
};

}  // namespace firstglow::sim
