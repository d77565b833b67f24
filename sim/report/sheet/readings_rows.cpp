#include "sim/report/sheet/readings_rows.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <sstream>

#include "core/nearest_word.hpp"
#include "core/written_text.hpp"
#include "netlists/situation.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kLongestId = 300;
constexpr double kMostVolts = 1000.0;
constexpr double kMostWatts = 10000.0;
constexpr std::size_t kMostSteps = 200;

std::vector<std::string> stage_keys() {
  using enum netlists::Stage;
  std::vector<std::string> keys;
  for (const netlists::Stage stage :
       {transformer, rectifier, filter, tubes_out, heaters, key_up, key_down}) {
    keys.emplace_back(netlists::stage_key(stage));
  }
  return keys;
}

std::vector<std::string> words_of(const std::string& text) {
  std::istringstream stream(text);
  std::vector<std::string> words;
  for (std::string word; stream >> word;) {
    words.push_back(word);
  }
  return words;
}

}  // namespace

void ReadingsRows::fault(core::SourcePosition where, std::string message) {
  faults_.push_back({where, std::move(message)});
}

EntryKind ReadingsRows::kind_of(std::string_view word, core::SourcePosition where) {
  if (word == "tick") {
    return EntryKind::tick;
  }
  if (word == "words") {
    return EntryKind::words;
  }
  if (!word.empty() && word != "reading") {
    fault(where,
          fmt::format("kind {} is none; expected reading, tick, words or nothing; correct it",
                      core::in_quotes(word)));
  }
  return EntryKind::reading;
}

void ReadingsRows::add(WrittenEntry entry) {
  if (entry.id.empty() || entry.id.size() > kLongestId) {
    fault(entry.where, fmt::format("an entry with {}; expected the id that the sheet gives it; "
                                   "add it or remove the entry",
                                   entry.id.empty() ? "no id" : "an id longer than any sheet's"));
    return;
  }
  if (read_.entries.size() >= kMostEntries) {
    if (read_.entries.size() == kMostEntries) {
      fault(entry.where, fmt::format("more than {} entries; split the file", kMostEntries));
      read_.entries.push_back(std::move(entry));
    }
    return;
  }
  read_.entries.push_back(std::move(entry));
}

SheetFacts& ReadingsRows::facts() {
  if (!read_.sheet) {
    read_.sheet.emplace();
  }
  return *read_.sheet;
}

std::optional<double> ReadingsRows::positive(std::string_view name, const std::string& value,
                                             double most, core::SourcePosition where) {
  double number = 0.0;
  const char* end = value.data() + value.size();
  const auto read = std::from_chars(value.data(), end, number, std::chars_format::fixed);
  if (read.ec == std::errc() && read.ptr == end && number > 0.0 && number <= most) {
    return number;
  }
  fault(where, fmt::format("{} of the sheet: {} is no number above 0 and up to {:g}; correct it",
                           name, core::in_quotes(value), most));
  return std::nullopt;
}

void ReadingsRows::add_steps(const std::string& value, core::SourcePosition where) {
  const std::vector<std::string> words = words_of(value);
  if (words.size() > kMostSteps) {
    fault(where, fmt::format("steps of the sheet: {} of them; expected at most {}", words.size(),
                             kMostSteps));
    return;
  }
  for (const std::string& word : words) {
    if (const auto volts = positive("steps", word, kMostVolts, where)) {
      facts().steps_vrms.push_back(*volts);
    }
  }
}

void ReadingsRows::add_stages(const std::string& value, core::SourcePosition where) {
  const std::vector<std::string> known = stage_keys();
  for (const std::string& word : words_of(value)) {
    if (std::find(known.begin(), known.end(), word) == known.end()) {
      fault(where, fmt::format("stages of the sheet: {} is no stage; expected some of {}",
                               core::in_quotes(word), fmt::join(known, ", ")));
    } else {
      facts().stages.push_back(word);
    }
  }
}

void ReadingsRows::add_fact(std::string_view name, const std::string& value,
                            core::SourcePosition where) {
  if (name == "rig") {
    facts().rig = value;
  } else if (name == "record") {
    facts().record = value;
  } else if (name == "date") {
    facts().date = value;
  } else if (name == "steps") {
    add_steps(value, where);
  } else if (name == "stages") {
    add_stages(value, where);
  } else if (name == "lamp-W" && !value.empty()) {
    facts().lamp_w = positive(name, value, kMostWatts, where);
  } else if (name == "lamp-V" && !value.empty()) {
    facts().lamp_vrms = positive(name, value, kMostVolts, where);
  } else if (name == "without-lamp") {
    if (value != "yes" && value != "no") {
      fault(where, fmt::format("without-lamp of the sheet: {} is neither yes nor no",
                               core::in_quotes(value)));
    }
    facts().without_lamp = value != "no";
  } else if (name != "lamp-W" && name != "lamp-V") {
    fault(where, fmt::format("{} is no fact of a sheet; expected rig, record, date, steps, stages, "
                             "lamp-W, lamp-V or without-lamp; remove it",
                             core::in_quotes(name)));
  }
}

ReadingsFile ReadingsRows::take(const std::string& file) {
  std::vector<const WrittenEntry*> by_id;
  for (const WrittenEntry& entry : read_.entries) {
    by_id.push_back(&entry);
  }
  std::stable_sort(by_id.begin(), by_id.end(),
                   [](const WrittenEntry* a, const WrittenEntry* b) { return a->id < b->id; });
  for (std::size_t i = 1; i < by_id.size(); ++i) {
    if (by_id[i]->id == by_id[i - 1]->id) {
      fault(by_id[i]->where, fmt::format("{} is there twice, first on line {}; remove one",
                                         core::in_quotes(by_id[i]->id), by_id[i - 1]->where.line));
    }
  }
  if (read_.sheet && read_.sheet->lamp_w.has_value() != read_.sheet->lamp_vrms.has_value()) {
    fault({}, "the sheet has one of lamp-W and lamp-V only; give both or none");
  }
  if (!faults_.empty()) {
    std::stable_sort(faults_.begin(), faults_.end(),
                     [](const core::InputFault& a, const core::InputFault& b) {
                       return a.where.line < b.where.line;
                     });
    throw core::InputError(file, std::move(faults_));
  }
  read_.file = file;
  return std::move(read_);
}

}  // namespace firstglow::sim
