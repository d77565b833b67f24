#include "core/value_words.hpp"

namespace firstglow::core {

const std::vector<UnitWord>& unit_words() {
  static const std::vector<UnitWord> kWords{
      {Dimension::volts, "V", true},
      {Dimension::volts, "volt", true},
      {Dimension::volts, "volts", true},
      {Dimension::amps, "A", true},
      {Dimension::amps, "amp", true},
      {Dimension::amps, "amps", true},
      {Dimension::ohms, "ohm", true},
      {Dimension::ohms, "ohms", true},
      {Dimension::ohms, "Ohm", true},
      {Dimension::ohms, "\u03A9", true},  // Greek capital omega
      {Dimension::ohms, "\u2126", true},  // ohm sign
      {Dimension::ohms, "R", false},
      {Dimension::farads, "F", true},
      {Dimension::farads, "mfd", false},  // old marking: microfarad, see prefix_exponent()
      {Dimension::farads, "MFD", false},
      {Dimension::henries, "H", true},
      {Dimension::henries, "henry", true},
      {Dimension::henries, "henries", true},
      {Dimension::watts, "W", true},
      {Dimension::watts, "watt", true},
      {Dimension::watts, "watts", true},
      {Dimension::hertz, "Hz", true},
      {Dimension::amps_squared_seconds, "A2s", false},
      {Dimension::amps_squared_seconds, "A^2s", false},
      {Dimension::amps_squared_seconds, "A\u00B2s", false},
      {Dimension::seconds, "s", true},
      {Dimension::seconds, "second", false},
      {Dimension::seconds, "seconds", false},
      {Dimension::kelvin, "kelvin", false},  // never K, which is a thousand ohms
  };
  return kWords;
}

const std::vector<PrefixWord>& prefix_words() {
  static const std::vector<PrefixWord> kWords{
      {"p", -12}, {"n", -9}, {"u", -6}, {"\u00B5", -6}, {"\u03BC", -6},
      {"m", -3},  {"k", 3},  {"K", 3},  {"M", 6},       {"G", 9},
  };
  return kWords;
}

// Letters of IEC 60062 for resistance (R K M G, lower-case k as commonly printed) and
// capacitance (p n u m F); from memory.
const std::vector<CodeLetter>& code_letters() {
  static const std::vector<CodeLetter> kLetters{
      {Dimension::ohms, "R", 0},         {Dimension::ohms, "k", 3},
      {Dimension::ohms, "K", 3},         {Dimension::ohms, "M", 6},
      {Dimension::ohms, "G", 9},         {Dimension::farads, "p", -12},
      {Dimension::farads, "n", -9},      {Dimension::farads, "u", -6},
      {Dimension::farads, "\u00B5", -6}, {Dimension::farads, "\u03BC", -6},
      {Dimension::farads, "m", -3},      {Dimension::farads, "F", 0},
  };
  return kLetters;
}

// IEC 60062, tolerance letters; from memory.
const std::vector<ToleranceLetter>& tolerance_letters() {
  static const std::vector<ToleranceLetter> kLetters{
      {'B', {0.001, 0.001}}, {'C', {0.0025, 0.0025}}, {'D', {0.005, 0.005}}, {'F', {0.01, 0.01}},
      {'G', {0.02, 0.02}},   {'J', {0.05, 0.05}},     {'K', {0.10, 0.10}},   {'M', {0.20, 0.20}},
      {'N', {0.30, 0.30}},   {'Q', {0.10, 0.30}},     {'T', {0.10, 0.50}},   {'S', {0.20, 0.50}},
      {'Z', {0.20, 0.80}},
  };
  return kLetters;
}

}  // namespace firstglow::core
