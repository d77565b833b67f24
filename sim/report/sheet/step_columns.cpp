#include "sim/report/sheet/step_columns.hpp"

#include <algorithm>
#include <cmath>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

/// Readings of the columns of a stage; the others are read at its last step only.
constexpr std::size_t kMostColumns = 4;
/// Of the supplies that stand this close to the highest, the one with the least ripple is watched.
constexpr double kNearHighest = 0.75;

bool is_joint(const RampStep& step, const std::string& node) {
  return std::any_of(step.midpoints.begin(), step.midpoints.end(),
                     [&node](const MidpointReading& joint) { return joint.node == node; });
}

/// The supply to watch: near the highest, with the least ripple; nullptr while there is none.
const NodeReading* watched_supply(const RampStep& step) {
  double highest_v = 0.0;
  for (const NodeReading& node : step.nodes) {
    highest_v = node.main_dc ? std::max(highest_v, std::abs(node.dc_v.nominal)) : highest_v;
  }
  const NodeReading* best = nullptr;
  for (const NodeReading& node : step.nodes) {
    if (node.main_dc && highest_v > 0.0 && !is_joint(step, node.node) &&
        std::abs(node.dc_v.nominal) >= kNearHighest * highest_v &&
        (best == nullptr || node.ripple_vpp < best->ripple_vpp)) {
      best = &node;
    }
  }
  return best;
}

/// The supply of the other polarity (bias), which has to be there before plate volts.
const NodeReading* other_supply(const RampStep& step, const NodeReading& watched) {
  const NodeReading* best = nullptr;
  for (const NodeReading& node : step.nodes) {
    if (node.main_dc && node.dc_v.nominal * watched.dc_v.nominal < 0.0 &&
        (best == nullptr || node.ripple_vpp < best->ripple_vpp)) {
      best = &node;
    }
  }
  return best;
}

const NodeReading* highest_ac(const RampStep& step) {
  const auto most = std::max_element(
      step.nodes.begin(), step.nodes.end(),
      [](const NodeReading& a, const NodeReading& b) { return a.ac_vrms < b.ac_vrms; });
  return most == step.nodes.end() ? nullptr : &*most;
}

}  // namespace

std::string reading_id(const RampPass& pass, const StepBlanks& step,
                       const std::vector<std::string>& tail) {
  std::vector<std::string> parts = pass_id(pass);
  parts.push_back(plain(step.variac_vrms));
  parts.insert(parts.end(), tail.begin(), tail.end());
  return blank_id(parts);
}

const Blank* find_blank(const StepBlanks& step, const std::string& id) {
  const auto found = std::find_if(step.readings.begin(), step.readings.end(),
                                  [&id](const Blank& blank) { return blank.id == id; });
  return found == step.readings.end() ? nullptr : &*found;
}

std::vector<WatchedReading> columns_of_pass(const RampPass& pass, const RampStep& step) {
  std::vector<WatchedReading> columns{{"Mains, A true rms", {"mains-A"}}};
  if (pass.with_lamp) {
    columns.push_back({"Across the lamp, V AC", {"lamp-V"}});
  } else {
    columns.push_back({"Mains, W", {"mains-W"}});
  }
  if (const NodeReading* supply = watched_supply(step)) {
    columns.push_back({supply->node + ", V DC", {supply->node, "dc"}});
    if (!step.midpoints.empty()) {
      const std::string& joint = step.midpoints.front().node;
      columns.push_back({joint + " (joint), V DC", {joint, "dc"}});
    } else if (const NodeReading* other = other_supply(step, *supply)) {
      columns.push_back({other->node + ", V DC", {other->node, "dc"}});
    }
  } else if (const NodeReading* end = highest_ac(step)) {
    columns.push_back({end->node + ", V AC", {end->node, "ac"}});
  }
  columns.resize(std::min(columns.size(), kMostColumns));
  return columns;
}

}  // namespace firstglow::sim
