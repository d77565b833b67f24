#include "sim/report/sheet/judged_blanks.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <string_view>

#include "core/written_text.hpp"
#include "sim/report/sheet/dead_blanks.hpp"

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
  Entries(const ReadingsFile& file, const std::vector<Blank>& dead,
          const std::vector<StepBlanks>& steps) {
    for (const WrittenEntry& entry : file.entries) {
      if (!is_empty(entry.written)) {
        by_id_.emplace(entry.id, &entry);
      }
    }
    for (const Blank& blank : dead) {
      units_.emplace(blank.id, blank.unit);
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

/// The blank with what was written in it; empty when nothing was.
std::optional<JudgedBlank> judge_entry(Entries& entries, const Blank& blank) {
  const WrittenEntry* entry = entries.place(blank.id);
  if (entry == nullptr) {
    return std::nullopt;
  }
  JudgedBlank judged = judge_blank(
      blank, entry->written, [&entries](const std::string& id) { return entries.value_of(id); });
  judged.page_mark = entry->mark;
  return judged;
}

JudgedStep judge_step(Entries& entries, const StepBlanks& blanks) {
  JudgedStep step{blanks.stage, blanks.with_lamp, blanks.variac_vrms, {}, 0, {}};
  std::vector<Blank> all = blanks.readings;
  if (blanks.setting) {
    all.insert(all.begin(), *blanks.setting);
  }
  for (const Blank& blank : all) {
    if (auto judged = judge_entry(entries, blank)) {
      step.filled.push_back(std::move(*judged));
    } else {
      step.empty += blank.judged ? 1 : 0;
    }
  }
  return step;
}

/// What no blank has taken.
void add_rest(const ReadingsFile& file, const Entries& entries, ReadingsResult& result) {
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
}

std::size_t count_of(const std::vector<JudgedBlank>& filled, Judgement judgement) {
  return static_cast<std::size_t>(
      std::count_if(filled.begin(), filled.end(), [judgement](const JudgedBlank& b) {
        return b.value ? b.blank.judged && b.worst == judgement
                       : judgement == Judgement::no_verdict;
      }));
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
  std::size_t found = count_of(dead, judgement);
  for (const JudgedStep& step : steps) {
    found += count_of(step.filled, judgement);
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

std::vector<Blank> dead_blanks(const core::Rig& rig) {
  std::vector<Blank> blanks = node_ohms_blanks(check_rig(rig));
  for (Blank& blank : bleeder_blanks(rig)) {
    blanks.push_back(std::move(blank));
  }
  for (WindingBlank& one : winding_blanks(rig)) {
    blanks.push_back(std::move(one.blank));
  }
  return blanks;
}

ReadingsResult judge_readings(const ReadingsFile& file, const SheetFacts& now,
                              const Predicted& predicted) {
  ReadingsResult result;
  result.sheet = file.sheet;
  result.now = now;
  result.assumptions = predicted.rampup.assumptions;
  const std::vector<StepBlanks> steps = step_blanks(predicted.rampup);
  Entries entries(file, predicted.dead, steps);
  for (const Blank& blank : predicted.dead) {
    if (auto judged = judge_entry(entries, blank)) {
      result.dead.push_back(std::move(*judged));
    }
  }
  std::vector<std::vector<std::string>> gates;
  for (const PassBlanks& pass : pass_blanks(predicted.rampup)) {
    gates.push_back(open_gates(entries, pass));
  }
  for (const StepBlanks& blanks : steps) {
    JudgedStep step = judge_step(entries, blanks);
    if (!step.filled.empty()) {
      step.open_gates = gates.at(blanks.pass);
      result.steps.push_back(std::move(step));
    }
  }
  add_rest(file, entries, result);
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
