#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "core/record_change.hpp"
#include "core/record_entries.hpp"
#include "core/record_fields.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

constexpr const char* kResistorNode = "AFTER_RECTIFIER";

/// Which column fills which key of a kind, and which column it cannot do without.
struct StockKeys {
  std::vector<std::pair<const char*, std::string StockPart::*>> keys;
  std::string StockPart::*needed;
  const char* needed_word;
};

std::optional<StockKeys> stock_keys(const std::string& kind) {
  using P = StockPart;
  if (kind == "electrolytic" || kind == "film_capacitor" || kind == "oil_capacitor") {
    return StockKeys{{{"value", &P::value},
                      {"tolerance", &P::tolerance},
                      {"working_volts", &P::volts},
                      {"surge_volts", &P::surge_volts},
                      {"ripple_current", &P::amps}},
                     &P::value,
                     "value"};
  }
  if (kind == "resistor") {
    return StockKeys{{{"value", &P::value},
                      {"tolerance", &P::tolerance},
                      {"watts", &P::watts},
                      {"working_volts", &P::volts}},
                     &P::value,
                     "value"};
  }
  if (kind == "silicon_diode") {
    return StockKeys{
        {{"type", &P::type}, {"piv", &P::volts}, {"average_current", &P::amps}}, &P::type, "type"};
  }
  if (kind == "fuse") {
    return StockKeys{{{"rating", &P::amps}, {"volts", &P::volts}}, &P::amps, "amps"};
  }
  return std::nullopt;
}

/// Keys that say what the part is for or where it is, and stay.
bool stays(const std::string& key) {
  constexpr std::array<std::string_view, 5> kKept{"kind", "nodes", "role", "in_series", "speed"};
  return std::find(kKept.begin(), kKept.end(), key) != kKept.end();
}

}  // namespace

bool add_series_resistor(RecordNode& record, const std::vector<std::string>& parts, double ohm) {
  std::string cathode;
  for (const std::string& name : parts) {
    const RecordNode* part = find_part(record, name);
    if (part == nullptr || text_of(*part, "kind") != "silicon_diode" ||
        (!cathode.empty() && node_of(*part, "cathode") != cathode)) {
      return false;
    }
    cathode = node_of(*part, "cathode");
  }
  if (cathode.empty() || cathode == kOpenName) {
    return false;
  }
  SourcePosition where;
  for (const std::string& name : parts) {
    RecordNode* nodes = find_entry(*find_part(record, name), "nodes");
    where = nodes->key_where;
    set_entry(*nodes, text_entry("cathode", kResistorNode, where));
  }
  RecordNode ends = map_entry("nodes", {}, where);
  ends.shape = RecordShape::list;
  ends.children = {text_entry("", kResistorNode, where), text_entry("", cathode, where)};
  find_entry(record, "parts")
      ->children.push_back(map_entry(
          "R_ADDED",
          {text_entry("kind", "resistor", where), text_entry("role", "dropper", where),
           text_entry("measured", fmt::format("{:.6f} ohm", ohm), where), std::move(ends)},
          where));
  return true;
}

void fit_stock_part(RecordNode& record, const std::string& designator, const StockPart& stock,
                    const std::string& file) {
  RecordNode* part = find_part(record, designator);
  const auto fail = [&](const std::string& message) {
    throw InputError(file, {{part == nullptr ? SourcePosition() : part->key_where, message}});
  };
  if (part == nullptr) {
    fail(fmt::format("{} is no part of this record; expected a designator of it",
                     in_quotes(designator)));
    return;
  }
  const std::string kind = text_of(*part, "kind");
  const std::optional<StockKeys> keys = stock_keys(kind);
  if (!keys) {
    fail(fmt::format(
        "part '{}' is of kind {}; a drawer is searched for capacitors, resistors, silicon "
        "diodes and fuses",
        designator, kind));
    return;
  }
  if ((stock.*keys->needed).empty()) {
    fail(fmt::format("{}: the column '{}' is empty; a part of kind {} needs it",
                     in_quotes(stock.name), keys->needed_word, kind));
  }
  std::erase_if(part->children, [](const RecordNode& entry) { return !stays(entry.key); });
  for (const auto& [key, column] : keys->keys) {
    if (!(stock.*column).empty()) {
      set_entry(*part, text_entry(key, stock.*column, part->key_where));
    }
  }
}

}  // namespace firstglow::core
