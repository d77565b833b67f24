#pragma once
/// @file
/// How many volts can each node of the rig have at a stage, and into which class does it fall?

#include <string>
#include <vector>

#include "core/rig.hpp"
#include "sim/studies/rampup.hpp"

namespace firstglow::sim {

/// Bounds: 42.4 V peak and 60 V DC [IEC-61010-1], 600 V the usual rating of meter leads and the
/// class boundary of older codes [NEC-460-6].
enum class VoltClass { unknown, below_42, from_42, from_60, above_600, mains };

/// "over 600 V", "60 to 600 V", ..., "mains side": words that need no colour.
[[nodiscard]] const char* class_words(VoltClass volt_class);

struct NodeVolts {
  std::string node;
  double dc_v = 0.0;     ///< the worst of the band, with its sign
  double ac_vrms = 0.0;  ///< highest of the band
  double peak_v = 0.0;   ///< no less than any instant reaches: |DC| and the whole swing
  VoltClass volt_class = VoltClass::unknown;
};

struct StageVolts {
  netlists::Stage stage = netlists::Stage::transformer;
  bool known = false;         ///< false: its step of the highest volts has no prediction
  bool without_lamp = false;  ///< the pass it is taken from
  std::vector<NodeVolts> nodes;
};

/// Per stage, every node at the highest variac step (of the pass without lamp where there is one),
/// over tolerance and line; without a prediction for that very step the stage is not known.
/// Steady: what a node does for a moment at switch-on is left out (margins has it). Nodes on the
/// mains side are `mains` at every stage, whatever was computed: a switch or a reversed plug may
/// put them there.
///
/// Model: the highest instant is taken as |DC| + the whole swing, which errs to the dangerous
/// side by up to the half of the swing.
[[nodiscard]] std::vector<StageVolts> stage_volts(const core::Rig& rig, const RampupResult& rampup);

/// Worst of all stages, by node, in the order of the rig; the chassis is not in it. While one stage
/// is not known every class but `mains` is unknown: that stage may go higher.
[[nodiscard]] std::vector<NodeVolts> worst_volts(const core::Rig& rig,
                                                 const std::vector<StageVolts>& stages);

/// Is the node joined to the line by fuse, lamp, variac, primary or another part of the mains
/// side?
[[nodiscard]] std::vector<bool> on_mains_side(const core::Rig& rig);

}  // namespace firstglow::sim
