#pragma once
/// @file
/// How is the answer of `reform` said: a programme for the bench, and what a log of readings means?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/forming_judge.hpp"
#include "sim/studies/reform.hpp"

namespace firstglow::sim {

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string reform_text(const core::Rig& rig, const ReformResult& result,
                                      const TextStyle& style);
/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string reform_json(const core::Rig& rig, const ReformResult& result);
/// Courses of every can: `part,can,time_s,supply_v,can_v,current_a,formed_v,can_k`.
[[nodiscard]] std::string reform_csv(const ReformResult& result);

[[nodiscard]] core::Verdict reform_log_verdict(const ReformLogResult& result);
[[nodiscard]] std::string reform_log_text(const core::Rig& rig, const ReformLogResult& result,
                                          const TextStyle& style);
[[nodiscard]] std::string reform_log_json(const core::Rig& rig, const ReformLogResult& result);
/// Readings and best curve: `time_s,read_a,curve_a`.
[[nodiscard]] std::string reform_log_csv(const ReformLogResult& result);

}  // namespace firstglow::sim
