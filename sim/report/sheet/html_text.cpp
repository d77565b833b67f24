#include "sim/report/sheet/html_text.hpp"

#include "sim/report/shown_text.hpp"

namespace firstglow::sim {

std::string html_text(std::string_view text) {
  std::string safe;
  TextStyle style;
  style.utf8 = true;
  for (const char c : shown(text, style)) {
    switch (c) {
      case '&':
        safe += "&amp;";
        break;
      case '<':
        safe += "&lt;";
        break;
      case '>':
        safe += "&gt;";
        break;
      case '"':
        safe += "&quot;";
        break;
      case '\'':
        safe += "&#39;";
        break;
      default:
        safe += c;
    }
  }
  return safe;
}

}  // namespace firstglow::sim
