#pragma once
/// @file
/// What does a filled-in sheet say: which readings are where they were predicted, and which not?

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/finding.hpp"
#include "sim/report/sheet/readings_file.hpp"
#include "sim/report/sheet/sheet_blanks.hpp"

namespace firstglow::sim {

struct JudgedCheck {
  DerivedCheck check;
  double value = 0.0;
  Judgement judgement = Judgement::no_verdict;
};

/// One blank that was filled in.
struct JudgedBlank {
  Blank blank;
  std::string written;
  std::optional<double> value;  ///< empty: what was written is no number
  std::string fault;            ///< then why
  Judgement own = Judgement::no_verdict;
  Judgement worst = Judgement::no_verdict;  ///< with the checks
  std::vector<JudgedCheck> checks;          ///< those that could be worked out
  std::string page_mark;                    ///< what the page said of it; empty: not told
};

/// What a blank's mark is called: judgement_words(), "setting" or "no number".
[[nodiscard]] std::string mark_of(const JudgedBlank& judged);

struct JudgedStep {
  std::string stage;
  bool with_lamp = false;
  double variac_vrms = 0.0;
  std::vector<JudgedBlank> filled;
  std::size_t empty = 0;                ///< blanks to be judged that nothing was written in
  std::vector<std::string> open_gates;  ///< of its pass, not ticked on the sheet
};

struct ReadingsResult {
  std::optional<SheetFacts> sheet;          ///< of the file
  SheetFacts now;                           ///< the same of the record as it is now
  std::vector<JudgedBlank> dead;            ///< ohms before power
  std::vector<JudgedStep> steps;            ///< those on which something was written
  std::vector<WrittenEntry> without_place;  ///< readings that no blank of this record takes
  std::vector<WrittenEntry> words;          ///< remarks, initials
  std::size_t ticks = 0;
  std::vector<std::string> assumptions;

  [[nodiscard]] bool record_changed() const { return sheet && sheet->record != now.record; }
  [[nodiscard]] std::size_t count(Judgement judgement) const;
};

/// The number in another blank; empty when it is not there.
using ValueOf = std::function<std::optional<double>(const std::string& id)>;

/// @param written  as it was typed; not blank
[[nodiscard]] JudgedBlank judge_blank(const Blank& blank, const std::string& written,
                                      const ValueOf& value_of);

/// What is predicted by the record as it is now.
struct Predicted {
  std::vector<Blank> dead;  ///< dead_blanks()
  RampupResult rampup;      ///< by the ladder of the file's sheet; may leave out stages not read
};

/// All ohms of the dead checks, in the order of the page.
[[nodiscard]] std::vector<Blank> dead_blanks(const core::Rig& rig);

[[nodiscard]] ReadingsResult judge_readings(const ReadingsFile& file, const SheetFacts& now,
                                            const Predicted& predicted);

/// Something outside or beyond a stop limit: unsafe. Else something without verdict, without a
/// place or not a number, or nothing read at all: no verdict. Else safe: all inside.
[[nodiscard]] core::Verdict readings_verdict(const ReadingsResult& result);

}  // namespace firstglow::sim
