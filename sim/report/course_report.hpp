#pragma once
/// @file
/// How is the answer of `course` said, on paper and to other programs?

#include <string>

#include "core/finding.hpp"
#include "core/rig.hpp"
#include "sim/report/shown_text.hpp"
#include "sim/studies/course.hpp"

namespace firstglow::sim {

[[nodiscard]] core::Verdict course_verdict(const CourseResult& result);

/// For people; every line fits the page and holds no control character.
[[nodiscard]] std::string course_text(const core::Rig& rig, const CourseResult& result,
                                      const TextStyle& style);

/// For programs: docs/output.schema.json, ASCII only.
[[nodiscard]] std::string course_json(const core::Rig& rig, const CourseResult& result);

/// Every reading as numbers: RFC 4180.
[[nodiscard]] std::string course_csv(const CourseResult& result);

}  // namespace firstglow::sim
