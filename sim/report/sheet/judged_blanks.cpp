#include "sim/report/sheet/judged_blanks.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <string_view>

#include "core/written_text.hpp"

namespace firstglow::sim {
namespace {

/// The figure of a derived check; empty when another reading is not there or is no divisor.
std::optional<double> derived_value(const DerivedCheck& check, double value,
                                    const ValueOf& value_of) {
  const auto taken = [&value_of](const std::string& id) {
    return id.empty() ? std::optional(0.0) : value_of(id);  // the chassis
  };
  const std::optional<double> other = taken(check.other);
  const std::optional<double> base = taken(check.base);
  if (!other || !base) {
    return std::nullopt;
  }
  if (check.kind == DerivedCheck::Kind::times) {
    return value * *other;
  }
  const bool share = check.kind == DerivedCheck::Kind::share;
  const double divisor = share ? *other - *base : *other;
  const double part = share ? value - *base : value;
  return divisor == 0.0 ? std::nullopt : std::optional(part / divisor);
}

bool is_empty(const std::string& written) { return core::trimmed(written).empty(); }

/// Looks up what was written, and what it is worth in its blank's unit.
class Entries {
 public:
  Entries(const ReadingsFile& file, const std::vector<StepBlanks>& steps) {
    for (const WrittenEntry& entry : file.entries) {
      if (!is_empty(entry.written)) {
        by_id_.emplace(entry.id, &entry);
      }
    }
    for (const StepBlanks& step : steps) {
      if (step.setting) {
        units_.emplace(step.setting->id, step.setting->unit);
      }
      for (const Blank& blank : step.readings) {
        units_.emplace(blank.id, blank.unit);
      }
    }
  }

  /// The entry, which then has a place; nullptr when nothing was written there.
  const WrittenEntry* place(const std::string& id) {
    const auto found = by_id_.find(id);
    if (found == by_id_.end()) {
      return nullptr;
    }
    placed_.insert(id);
    return found->second;
  }
  [[nodiscard]] bool is_placed(const std::string& id) const { return placed_.contains(id); }

  [[nodiscard]] std::optional<double> value_of(const std::string& id) const {
    const auto found = by_id_.find(id);
    const auto unit = units_.find(id);
    if (found == by_id_.end() || unit == units_.end()) {
      return std::nullopt;
    }
    return read_written(found->second->written, unit->second).value;
  }

 private:
  std::map<std::string, const WrittenEntry*, std::less<>> by_id_;
  std::map<std::string, std::string, std::less<>> units_;
  std::set<std::string, std::less<>> placed_;
};

void judge_entry(Entries& entries, const Blank& blank, JudgedStep& step) {
  const WrittenEntry* entry = entries.place(blank.id);
  if (entry == nullptr) {
    step.empty += blank.judged ? 1 : 0;
    return;
  }
  step.filled.push_back(judge_blank(
      blank, entry->written, [&entries](const std::string& id) { return entries.value_of(id); }));
  step.filled.back().page_mark = entry->mark;
}

std::vector<std::string> open_gates(Entries& entries, const PassBlanks& pass) {
  std::vector<std::string> open;
  for (const Tick& gate : pass.gates) {
    if (entries.place(gate.id) == nullptr) {
      open.push_back(gate.label);
    }
  }
  return open;
}

}  // namespace

std::string mark_of(const JudgedBlank& judged) {
  if (!judged.value) {
    return "no number";
  }
  return judged.blank.judged ? judgement_words(judged.worst) : "setting";
}

std::size_t ReadingsResult::count(Judgement judgement) const {
  std::size_t found = 0;
  for (const JudgedStep& step : steps) {
    found += static_cast<std::size_t>(
        std::count_if(step.filled.begin(), step.filled.end(), [judgement](const JudgedBlank& b) {
          return b.value ? b.blank.judged && b.worst == judgement
                         : judgement == Judgement::no_verdict;
        }));
  }
  return found;
}

JudgedBlank judge_blank(const Blank& blank, const std::string& written, const ValueOf& value_of) {
  JudgedBlank judged;
  judged.blank = blank;
  judged.written = written;
  const WrittenReading reading = read_written(written, blank.unit);
  judged.value = reading.value;
  judged.fault = reading.fault;
  if (!judged.value) {
    return judged;
  }
  judged.own = judge(limits_of(blank), *judged.value);
  judged.worst = judged.own;
  for (const DerivedCheck& check : blank.checks) {
    if (const auto value = derived_value(check, *judged.value, value_of)) {
      judged.checks.push_back({check, *value, judge(check.limits, *value)});
      judged.worst = std::max(judged.worst, judged.checks.back().judgement);
    }
  }
  return judged;
}

ReadingsResult judge_readings(const ReadingsFile& file, const SheetFacts& now,
                              const RampupResult& rampup) {
  ReadingsResult result;
  result.sheet = file.sheet;
  result.now = now;
  result.assumptions = rampup.assumptions;
  const std::vector<StepBlanks> steps = step_blanks(rampup);
  const std::vector<PassBlanks> passes = pass_blanks(rampup);
  Entries entries(file, steps);
  std::vector<std::vector<std::string>> gates;
  for (const PassBlanks& pass : passes) {
    gates.push_back(open_gates(entries, pass));
  }
  for (const StepBlanks& blanks : steps) {
    JudgedStep step{blanks.stage, blanks.with_lamp, blanks.variac_vrms, {}, 0, {}};
    if (blanks.setting) {
      judge_entry(entries, *blanks.setting, step);
    }
    for (const Blank& blank : blanks.readings) {
      judge_entry(entries, blank, step);
    }
    if (!step.filled.empty()) {
      step.open_gates = gates.at(blanks.pass);
      result.steps.push_back(std::move(step));
    }
  }
  for (const WrittenEntry& entry : file.entries) {
    if (is_empty(entry.written)) {
      continue;
    }
    if (entry.kind == EntryKind::words) {
      result.words.push_back(entry);
    } else if (entry.kind == EntryKind::tick) {
      ++result.ticks;
    } else if (!entries.is_placed(entry.id)) {
      result.without_place.push_back(entry);
    }
  }
  return result;
}

core::Verdict readings_verdict(const ReadingsResult& result) {
  if (result.count(Judgement::stop) + result.count(Judgement::outside) > 0) {
    return core::Verdict::unsafe;
  }
  const bool unknown = result.count(Judgement::no_verdict) > 0 || !result.without_place.empty();
  return unknown || result.count(Judgement::inside) == 0 ? core::Verdict::no_verdict
                                                         : core::Verdict::safe;
}

}  // namespace firstglow::sim
