#pragma once
/// @file
/// Which parts of a drawer may stand in for one part of the rig?

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "core/stock_list.hpp"
#include "sim/engine/worker_pool.hpp"
#include "sim/studies/study.hpp"

namespace firstglow::sim {

struct DrawerOptions {
  int closing_angles = 4;  ///< for the margins with each part, 4 to 72
  /// The rig with that stock part in place; throws core::InputError when it cannot be.
  std::function<core::Rig(const core::StockPart&)> with_part;
  std::optional<core::BodySize> hole;  ///< room left by the old part
  Progress progress;
};

enum class DrawerAnswer {
  meets,      ///< keeps every margin, and worsens no verdict elsewhere
  fails,      ///< at least one rating is exceeded
  not_known,  ///< a rating is missing or a run failed: no verdict
  unfit,      ///< is no part of that kind, or the rig with it is not valid
};

struct DrawerRow {
  core::StockPart part;
  DrawerAnswer answer = DrawerAnswer::unfit;
  std::optional<double> least_margin;    ///< of the part itself, fraction of the limit
  std::optional<core::Finding> closest;  ///< that margin, or the first that fails or is unknown
  std::string why;                       ///< in words when it is unfit or worsens something else
  std::optional<bool> fits;              ///< into the hole; empty when a size is not known
};

struct DrawerResult {
  long over_elsewhere = 0;      ///< limits that other parts exceed already, with the old part
  std::string part;             ///< designator
  std::vector<DrawerRow> rows;  ///< best first
  std::vector<core::Finding> findings;  ///< of the best part that meets everything
  std::vector<std::string> assumptions;
};

/// Runs the margins of the rig with each stock part in place. Parts that differ only in their
/// ratings share the runs.
///
/// Ranked: parts that meet every margin by their least margin, largest first, those that fit the
/// hole before those that do not; then parts without verdict; then parts that fail; then unfit.
/// Left out: two stock parts in series or parallel; age and condition of what lies in the drawer:
/// test and form before fitting.
[[nodiscard]] DrawerResult drawer(const core::Rig& rig, const std::string& part,
                                  const std::vector<core::StockPart>& stock,
                                  const DrawerOptions& options, WorkerPool& pool);

}  // namespace firstglow::sim
