#include "sim/studies/spread_inputs.hpp"

#include "netlists/deck_builder.hpp"
#include "sim/studies/spread.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {
namespace {

/// Mixes 64 bits so that neighbours come out unlike; constants of splitmix64 [SPLITMIX64].
std::uint64_t mixed(std::uint64_t bits) {
  bits += 0x9e3779b97f4a7c15U;
  bits = (bits ^ (bits >> 30U)) * 0xbf58476d1ce4e5b9U;
  bits = (bits ^ (bits >> 27U)) * 0x94d049bb133111ebU;
  return bits ^ (bits >> 31U);
}

}  // namespace

double spread_uniform(std::uint64_t seed, int draw, int input) {
  const std::uint64_t bits = mixed(mixed(mixed(seed) + static_cast<std::uint64_t>(draw)) +
                                   static_cast<std::uint64_t>(input));
  return static_cast<double>(bits >> 11U) * 0x1.0p-53;
}

SpreadInputs::SpreadInputs(const core::Rig& rig) : rig_(rig) {
  std::set<std::string> parts;
  for (const netlists::Stage stage : netlists::stages_of(rig)) {
    parts.merge(at_stage(stage));
  }
  names_.assign(parts.begin(), parts.end());
  parts_ = names_.size();
  names_.emplace_back("line");
  names_.emplace_back("copper temperature");
}

std::set<std::string> SpreadInputs::at_stage(netlists::Stage stage) const {
  const std::vector<std::string> parts = toleranced_parts(rig_, stage);
  return {parts.begin(), parts.end()};
}

std::vector<double> SpreadInputs::values(std::uint64_t seed, int draw) const {
  std::vector<double> values;
  for (std::size_t i = 0; i < names_.size(); ++i) {
    values.push_back(2.0 * spread_uniform(seed, draw, static_cast<int>(i)) - 1.0);
  }
  return values;
}

netlists::Situation SpreadInputs::situation(std::uint64_t seed, int draw) const {
  const std::vector<double> drawn = values(seed, draw);
  netlists::Situation situation;
  for (std::size_t i = 0; i < parts_; ++i) {
    situation.corner[names_[i]] = drawn[i];
  }
  const core::MainsInlet& mains = rig_.mains();
  const double share = 0.5 * (drawn[parts_] + 1.0);
  situation.line = core::RmsVolts(mains.low.si() + share * (mains.high.si() - mains.low.si()));
  situation.winding_rise_k = 0.5 * (drawn[parts_ + 1] + 1.0) * kHottestCopperK;
  return situation;
}

}  // namespace firstglow::sim
