#include <fmt/format.h>

#include "core/value_words.hpp"
#include "core/written_value.hpp"

namespace firstglow::core {
namespace {

constexpr std::string_view kNumber = R"(([0-9]+\.?[0-9]*|\.[0-9]+))";

std::string escaped(std::string_view word) {
  std::string text;
  for (const char c : word) {
    text += c == '^' ? std::string("\\^") : std::string(1, c);
  }
  return text;
}

void add_choice(std::string& choices, std::string_view word) {
  if (!choices.empty()) {
    choices += '|';
  }
  choices += escaped(word);
}

std::string alternatives(Dimension dimension) {
  std::string prefixes, units, bare_units, letters;
  for (const PrefixWord& prefix : prefix_words()) {
    add_choice(prefixes, prefix.word);
  }
  for (const UnitWord& unit : unit_words()) {
    if (unit.dimension == dimension) {
      add_choice(unit.prefix_allowed ? units : bare_units, unit.word);
    }
  }
  for (const CodeLetter& code : code_letters()) {
    if (code.dimension == dimension) {
      add_choice(letters, code.word);
    }
  }
  std::string text;
  if (!units.empty()) {
    text += fmt::format("{} *({})?({})", kNumber, prefixes, units);
  }
  if (!bare_units.empty()) {
    text += fmt::format("{}{} *({})", text.empty() ? "" : "|", kNumber, bare_units);
  }
  if (!letters.empty()) {
    text += fmt::format("|{} *({})|[0-9]* *({})[0-9]+", kNumber, letters, letters);
  }
  return text;
}

}  // namespace

std::string quantity_pattern(Dimension dimension) {
  return fmt::format("^({})$", alternatives(dimension));
}

std::string sections_pattern(Dimension dimension) {
  return fmt::format("^([0-9]+ *[xX\u00D7] *)?({})$", alternatives(dimension));
}

std::string tolerance_pattern() {
  std::string letters;
  for (const ToleranceLetter& known : tolerance_letters()) {
    add_choice(letters, std::string_view(&known.letter, 1));
  }
  return fmt::format(
      "^({0}|((\\+/-|\u00B1) *)?{1} *%|(-|\u2212) *{1} */ *\\+ *{1} *%"
      "|\\+ *{1} */ *(-|\u2212) *{1} *%)$",
      letters, kNumber);
}

}  // namespace firstglow::core
