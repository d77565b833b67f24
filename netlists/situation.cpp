#include "netlists/situation.hpp"

namespace firstglow::netlists {

const char* stage_key(Stage stage) {
  switch (stage) {
    case Stage::transformer:
      return "transformer";
    case Stage::rectifier:
      return "rectifier";
    case Stage::filter:
      return "filter";
    case Stage::tubes_out:
      return "tubes_out";
    case Stage::heaters:
      return "heaters";
    case Stage::key_up:
      return "key_up";
    case Stage::key_down:
      break;
  }
  return "key_down";
}

const char* stage_words(Stage stage) {
  switch (stage) {
    case Stage::transformer:
      return "transformer alone";
    case Stage::rectifier:
      return "plus rectifier";
    case Stage::filter:
      return "plus filter";
    case Stage::tubes_out:
      return "tubes out";
    case Stage::heaters:
      return "heaters lit";
    case Stage::key_up:
      return "key up";
    case Stage::key_down:
      break;
  }
  return "key down";
}

}  // namespace firstglow::netlists
