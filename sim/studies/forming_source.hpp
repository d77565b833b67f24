#pragma once
/// @file
/// What does the rig look like to one of its own capacitors, at each setting of the variac?

#include <optional>
#include <vector>

#include "core/rig.hpp"
#include "netlists/situation.hpp"
#include "sim/engine/engine.hpp"
#include "sim/studies/forming_run.hpp"

namespace firstglow::sim {

/// Sources of one can by rising variac volts.
class SourceLine {
 public:
  SourceLine(std::vector<double> variac_vrms, std::vector<FormingSource> sources);
  /// On a straight line between the settings; nothing below the first one.
  [[nodiscard]] FormingSource at(double variac_vrms) const;
  /// Lowest variac volts that give `open_v`; empty when none does.
  [[nodiscard]] std::optional<double> variac_for(double open_v) const;
  [[nodiscard]] const std::vector<double>& variac_vrms() const { return variac_vrms_; }
  [[nodiscard]] const std::vector<FormingSource>& sources() const { return sources_; }

 private:
  std::vector<double> variac_vrms_;
  std::vector<FormingSource> sources_;
};

/// Two periodic states for each setting: as it is, and with a load across the can that draws about
/// `load_a`. Stage filter (tubes out, vr tubes and dividers of small parts out).
/// @throws SimulationError
[[nodiscard]] SourceLine source_line(Engine& engine, const core::Rig& rig, std::size_t part,
                                     const std::optional<netlists::LampInSeries>& lamp,
                                     const std::vector<double>& variac_vrms, double load_a);

}  // namespace firstglow::sim
