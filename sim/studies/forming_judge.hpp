#pragma once
/// @file
/// Forming, stuck, or stop now: what do the readings of a can say?

#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "core/forming_log.hpp"
#include "core/leakage_limits.hpp"
#include "core/oxide_law.hpp"
#include "core/rig.hpp"
#include "sim/studies/forming_fit.hpp"

namespace firstglow::sim {

enum class FormingAnswer {
  formed,   ///< at or below the leakage limit
  forming,  ///< falls, and will get there
  stuck,    ///< will not get there, or not within the time to give up
  stop,     ///< rises, heats, or is over the ceiling
  too_few,  ///< not enough readings to say anything
};
[[nodiscard]] const char* to_words(FormingAnswer answer);

/// What is known beside the readings.
struct FormingFacts {
  double limit_a = 0.0;  ///< end criterion at rated volts
  double rated_v = 0.0;
  std::optional<double> supply_v;  ///< of the step that is judged
  std::optional<double> series_ohm;
  std::optional<double> ceiling_a;
  double runaway_a = 0.0;  ///< core::runaway_leakage()
  double thermal_k_per_w = 0.0;
  double accuracy = 0.03;            ///< of one reading, relative: assumed for a moving coil
  double give_up_s = 24.0 * 3600.0;  ///< from the last reading
};

/// Lowest, middle and highest of a quantity that is not known exactly: 10, 50 and 90 % of the
/// weight of all fitting curves lie below.
struct Spread {
  double low = 0.0, middle = 0.0, high = 0.0;
};

struct FormingVerdict {
  FormingAnswer answer = FormingAnswer::too_few;
  double confidence = 0.0;        ///< 0 to 1; not more than 0.8 with fewer than six readings
  std::vector<std::string> why;   ///< sentences
  std::optional<Spread> to_go_s;  ///< forming: from the last reading
  std::optional<Spread> stays_a;  ///< leakage that will not go away
  std::optional<FormingFit> fit;
  std::optional<RiseFound> rise;
  FormingSeries judged;      ///< the readings of the last step
  std::size_t left_out = 0;  ///< readings of earlier steps
};

/// The last step of a log: readings since the supply last moved by more than 2 %.
[[nodiscard]] FormingSeries last_step(const std::vector<core::FormingReading>& readings,
                                      std::size_t& left_out);

/// In this order: fewer than four readings say nothing (and fewer than six of which the last is
/// above the lowest by more than their accuracy say nothing good); a current over the ceiling, a
/// proven rise, a can 15 K above its first reading, or a remaining leakage that would warm it by 15
/// K mean stop (the last one not when the can's temperature was read over half an hour); a last
/// reading below the limit means formed; else the weight of the curves that reach the limit within
/// the time to give up, and within six times as long as was read, decides between forming and
/// stuck.
///
/// What is left out: a can that looks well until it fails at once. No answer here is a promise.
[[nodiscard]] FormingVerdict judge_forming(const std::vector<core::FormingReading>& readings,
                                           const FormingFacts& facts);

/// The answer for a part of the rig.
struct ReformLogResult {
  std::string part, log_file;
  FormingFacts facts;
  std::string rule_words, rule_source;
  FormingVerdict verdict;
  std::vector<core::FormingReading> readings;
  std::vector<core::Finding> findings;
  std::vector<std::string> assumptions;
};
/// @throws InputError when the part is no electrolytic with working volts.
[[nodiscard]] ReformLogResult judge_log(const core::Rig& rig, const std::string& part,
                                        const std::string& log_file, const core::LeakageRule& rule,
                                        FormingFacts facts);

}  // namespace firstglow::sim
