#pragma once
/// @file
/// What is to be filled in on the sheet, what is expected there, and how does it stand in the page?

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/studies/readings.hpp"

namespace firstglow::sim {

/// A second look at a reading, worked out together with others of the same step.
struct DerivedCheck {
  enum class Kind {
    per,    ///< reading / other
    share,  ///< (reading - base) / (other - base); an empty id is the chassis, 0
    times,  ///< reading * other
  };
  Kind kind = Kind::per;
  std::string label;  ///< e.g. "B+ per volt of the variac output"
  std::string unit;
  std::string other, base;  ///< ids of the blanks taken with it
  ReadingLimits limits;
  std::string stop_why;
};

/// One place for one number. The limits are as printed (as_printed()).
struct Blank {
  std::string id;     ///< stable from run to run, e.g. "tubes-out/lamp/45/B+/dc"; see blank_id()
  std::string label;  ///< what is read, e.g. "B+ DC"
  std::string where;  ///< where the meter is clipped, e.g. "B+ to chassis"
  std::string unit;   ///< e.g. "V DC"; its first word is the unit of what is typed
  std::optional<double> low, expected, high;
  std::optional<double> stop_below, stop_above;
  std::string stop_why;
  std::vector<DerivedCheck> checks;
  bool judged = true;  ///< false: a setting that others are judged with (the variac output)
};

/// A box to tick: a gate, "discharged, measured".
struct Tick {
  std::string id, label;
};

/// A place for words: initials, time, remarks.
struct Words {
  std::string id, label;
  int lines = 1;
  std::string value;  ///< stands there until something else is written
};

enum class LabelPlace {
  shown,   ///< the label stands before the blank
  hidden,  ///< the row's heading says it; the label is there for screen readers only
};

/// Parts of an id joined by '/'; characters of a part outside A-Z a-z 0-9 + - _ . ( ) become %XX.
[[nodiscard]] std::string blank_id(const std::vector<std::string>& parts);

[[nodiscard]] ReadingLimits limits_of(const Blank& blank);

/// Label, <input>, unit and the place for its mark, for assets/tablet.js; no style or script
/// inside.
[[nodiscard]] std::string blank_html(const Blank& blank, LabelPlace label = LabelPlace::shown);
[[nodiscard]] std::string tick_html(const Tick& tick);
[[nodiscard]] std::string words_html(const Words& words, LabelPlace label = LabelPlace::shown);

}  // namespace firstglow::sim
