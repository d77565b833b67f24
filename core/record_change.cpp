#include "core/record_change.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <optional>
#include <utility>

#include "core/nearest_word.hpp"
#include "core/part_types.hpp"
#include "core/record_entries.hpp"
#include "core/record_fields.hpp"
#include "core/tube_types.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

constexpr std::string_view kDiode = "silicon_diode";
constexpr std::string_view kVacuum = "vacuum_rectifier";
constexpr std::string_view kGas = "gas_rectifier";

// A heater winding that the record lacks: its copper drops this share at the heater's amps
// (common practice, no source).
constexpr double kWindingDrop = 0.05;
// Its rated amps over those of the heater (the same).
constexpr double kWindingReserve = 1.25;

/// The library the type belongs to, as a kind key; empty when none has it.
std::string_view kind_of_type(const std::string& type) {
  if (find_diode_type(type) != nullptr) {
    return kDiode;
  }
  if (find_vacuum_rectifier_type(type) != nullptr) {
    return kVacuum;
  }
  return find_gas_rectifier_type(type) != nullptr ? kGas : std::string_view();
}

std::string kind_in(const RecordNode& part) { return text_of(part, "kind"); }

/// Every place below `node` where a terminal is joined to the node of that name.
void find_ends(RecordNode& node, const std::string& name, bool in_nodes,
               std::vector<RecordNode*>& ends) {
  if (node.shape == RecordShape::text && in_nodes && node.text == name) {
    ends.push_back(&node);
  }
  for (RecordNode& child : node.children) {
    find_ends(child, name, in_nodes || child.key == "nodes", ends);
  }
}

/// Works on one record; every fault is thrown at once, for a change is one thing.
class Changer {
 public:
  Changer(RecordNode& record, const RecordChange& change, const std::string& file)
      : record_(record), change_(change), file_(file) {}

  ChangeEffect apply() {
    for (const std::string& name : change_.parts) {
      static_cast<void>(part(name));
    }
    if (!change_.key.empty()) {
      set_key();
    } else {
      set_type();
    }
    return std::move(effect_);
  }

 private:
  [[noreturn]] void fail(SourcePosition where, const std::string& message) const {
    throw InputError(file_, {{where, fmt::format("change '{}': {}", change_.text, message)}});
  }

  RecordNode& parts() {
    RecordNode* all = find_entry(record_, "parts");
    if (all == nullptr) {
      fail({}, "the record has no parts");
    }
    return *all;
  }

  RecordNode& part(const std::string& name) {
    RecordNode* found = find_part(record_, name);
    if (found == nullptr) {
      std::vector<std::string> names;
      for (const RecordNode& each : parts().children) {
        names.push_back(each.key);
      }
      const std::string near = nearest_word(name, names);
      fail({}, fmt::format("{} is no part of this record; {}", in_quotes(name),
                           near.empty() ? "expected a designator of it"
                                        : fmt::format("did you mean '{}'?", near)));
    }
    return *found;
  }

  void set_key() {
    RecordNode& one = part(change_.parts.front());
    const KindSpec* kind = find_kind(kind_in(one));
    const FieldSpec* field = kind == nullptr ? nullptr : find_field(kind->fields, change_.key);
    if (field == nullptr) {
      fail(one.key_where,
           fmt::format(
               "{} is no key of kind {}; expected one of {}", in_quotes(change_.key), kind_in(one),
               kind == nullptr ? "" : fmt::format("{}", fmt::join(keys_of(kind->fields), ", "))));
    }
    set_entry(one, text_entry(change_.key, change_.value, one.key_where));
    effect_.parts = change_.parts;
    // A marked value in place of a measured one: the reading belonged to the old part.
    if (change_.key == "value") {
      std::erase_if(one.children, [](const RecordNode& each) { return each.key == "measured"; });
    }
  }

  void set_type() {
    const std::string_view kind = kind_of_type(change_.value);
    RecordNode& first = part(change_.parts.front());
    if (kind.empty()) {
      fail(first.key_where,
           fmt::format("{} is no type of the part library", in_quotes(change_.value)));
    }
    const std::string old = kind_in(first);
    if (old != kDiode && old != kVacuum && old != kGas) {
      fail(first.key_where, fmt::format("kind {} cannot become {}; types are known for rectifiers: "
                                        "for other parts write PART.KEY=VALUE",
                                        old, kind));
    }
    std::vector<Path> paths = take_out_paths();
    if (kind == kDiode) {
      put_diodes(paths);
    } else if (kind == kVacuum) {
      put_twin(paths);
    } else {
      put_gas(paths);
    }
  }

  /// One way through the old rectifier.
  struct Path {
    std::string name, anode, cathode;
    std::string heater_1, heater_2;  ///< of a tube; open else
    SourcePosition where;
  };

  std::vector<Path> take_out_paths() {
    std::vector<Path> paths;
    for (const std::string& name : change_.parts) {
      const RecordNode& one = part(name);
      const std::string kind = kind_in(one);
      Path path{name,
                "",
                node_of(one, "cathode"),
                node_of(one, "heater_1"),
                node_of(one, "heater_2"),
                one.key_where};
      if (kind == kVacuum) {
        path.anode = node_of(one, "plate_1");
        paths.push_back(path);
        path.anode = node_of(one, "plate_2");
        if (path.anode != kOpenName && path.anode != paths.back().anode) {
          paths.push_back(path);
        }
      } else {
        path.anode = node_of(one, kind == kGas ? "plate" : "anode");
        paths.push_back(path);
      }
    }
    for (const std::string& name : change_.parts) {
      std::erase_if(parts().children, [&name](const RecordNode& each) { return each.key == name; });
    }
    return paths;
  }

  RecordNode& add_part(const std::string& name, std::string_view kind, SourcePosition where,
                       std::vector<RecordNode> nodes) {
    std::vector<RecordNode> fields;
    fields.push_back(text_entry("kind", std::string(kind), where));
    fields.push_back(text_entry("type", change_.value, where));
    fields.push_back(map_entry("nodes", std::move(nodes), where));
    parts().children.push_back(map_entry(name, std::move(fields), where));
    effect_.parts.push_back(name);
    return parts().children.back();
  }

  void put_diodes(const std::vector<Path>& paths) {
    const bool twin = paths.size() > change_.parts.size();
    int number = 0;
    for (const Path& path : paths) {
      const std::string name = twin ? fmt::format("{}.{}", path.name, ++number) : path.name;
      RecordNode& one = add_part(name, kDiode, path.where,
                                 {text_entry("anode", path.anode, path.where),
                                  text_entry("cathode", path.cathode, path.where)});
      one.children.push_back(
          text_entry("in_series", fmt::format("{}", change_.in_series), path.where));
    }
    for (const Path& path : paths) {
      insulate_if_alone(path.heater_1);
      insulate_if_alone(path.heater_2);
    }
    if (twin || paths.front().heater_1 != kOpenName) {
      effect_.notes.push_back(fmt::format(
          "{}: the heater winding is left open. It may stand at B+ potential and its insulation is "
          "old: tape it off, do not use it for anything else.",
          paths.front().name));
    }
  }

  /// The end of a heater winding that nothing hangs on any more is left insulated.
  void insulate_if_alone(const std::string& node) {
    std::vector<RecordNode*> ends;
    find_ends(parts(), node, false, ends);
    if (node != kOpenName && ends.size() == 1) {
      ends.front()->text = kOpenName;
    }
  }

  void put_twin(const std::vector<Path>& paths) {
    const Path& first = paths.front();
    if (paths.size() > 2 || (paths.size() == 2 && paths[1].cathode != first.cathode)) {
      fail(first.where,
           "one twin tube replaces at most two rectifiers with a common cathode; name those two");
    }
    const VacuumRectifierType& type = *find_vacuum_rectifier_type(change_.value);
    const auto [heater_1, heater_2] =
        heater_nodes(first, type.cathode_at_heater, type.heater_v, type.heater_a);
    add_part(first.name, kVacuum, first.where,
             {text_entry("plate_1", first.anode, first.where),
              text_entry("plate_2", paths.size() == 2 ? paths[1].anode : std::string(kOpenName),
                         first.where),
              text_entry("cathode", first.cathode, first.where),
              text_entry("heater_1", heater_1, first.where),
              text_entry("heater_2", heater_2, first.where)});
  }

  void put_gas(const std::vector<Path>& paths) {
    const GasRectifierType& type = *find_gas_rectifier_type(change_.value);
    for (const Path& path : paths) {
      const auto [heater_1, heater_2] = heater_nodes(path, true, type.heater_v, type.heater_a);
      add_part(path.name, kGas, path.where,
               {text_entry("plate", path.anode, path.where),
                text_entry("cathode", path.cathode, path.where),
                text_entry("heater_1", heater_1, path.where),
                text_entry("heater_2", heater_2, path.where)});
    }
  }

  /// The old tube's heater nodes, or those of a winding added to the first transformer.
  std::pair<std::string, std::string> heater_nodes(const Path& path, bool cathode_at_heater,
                                                   double heater_v, double heater_a) {
    if (path.heater_1 != kOpenName && path.heater_2 != kOpenName) {
      return {path.heater_1, path.heater_2};
    }
    RecordNode* iron = nullptr;
    for (RecordNode& each : parts().children) {
      iron = iron == nullptr && kind_in(each) == "power_transformer" ? &each : iron;
    }
    RecordNode* secondaries = iron == nullptr ? nullptr : find_entry(*iron, "secondaries");
    if (secondaries == nullptr) {
      fail(path.where, "no transformer is there that could heat the tube; add a winding for it");
    }
    const std::string winding = "heater_of_" + path.name;
    const std::string far = path.name + "_H2";
    const std::string near = cathode_at_heater ? path.cathode : path.name + "_H1";
    RecordNode nodes = map_entry("nodes", {}, path.where);
    nodes.shape = RecordShape::list;
    nodes.children = {text_entry("", near, path.where), text_entry("", far, path.where)};
    const double ohm = kWindingDrop * heater_v / heater_a;
    secondaries->children.push_back(map_entry(
        winding,
        {nodes,
         text_entry("volts", fmt::format("{} V", heater_v * (1.0 + kWindingDrop)), path.where),
         text_entry("ohms", fmt::format("{} ohm", ohm), path.where),
         text_entry("rated_current", fmt::format("{} A", kWindingReserve * heater_a), path.where)},
        path.where));
    effect_.notes.push_back(fmt::format(
        "{}: a winding of {:g} V {:g} A on {} for the heater is assumed, insulated for B+; the "
        "record has none.",
        path.name, heater_v, heater_a, iron->key));
    return {near, far};
  }

  RecordNode& record_;
  const RecordChange& change_;
  const std::string& file_;
  ChangeEffect effect_;
};

/// "3x1N4007" -> 3 and "1N4007"; a type that starts with a digit and an x is not known to us.
void split_count(RecordChange& change) {
  const std::size_t mark = change.value.find('x');
  if (mark == std::string::npos || mark == 0 || mark > 2) {
    return;
  }
  int count = 0;
  const char* end = change.value.data() + mark;
  const auto read = std::from_chars(change.value.data(), end, count);
  if (read.ec == std::errc() && read.ptr == end && count >= 1) {
    change.in_series = count;
    change.value.erase(0, mark + 1);
  }
}

}  // namespace

std::optional<RecordChange> parse_change(std::string_view text) {
  const std::size_t equals = text.find('=');
  if (equals == std::string_view::npos || equals == 0 || equals + 1 == text.size()) {
    return std::nullopt;
  }
  RecordChange change;
  change.text = text;
  std::string_view left = text.substr(0, equals);
  change.value = trimmed(text.substr(equals + 1));
  const std::size_t dot = left.rfind('.');
  const bool has_key =
      dot != std::string_view::npos && dot > 0 && dot + 1 < left.size() &&
      left.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_", dot + 1) ==
          std::string_view::npos &&
      left.find_first_of("abcdefghijklmnopqrstuvwxyz", dot + 1) != std::string_view::npos;
  if (has_key) {
    change.key = left.substr(dot + 1);
    change.parts = {std::string(left.substr(0, dot))};
    return change;
  }
  while (!left.empty()) {
    const std::size_t plus = left.find('+');
    if (plus == 0) {
      return std::nullopt;
    }
    change.parts.emplace_back(left.substr(0, plus));
    left = plus == std::string_view::npos ? std::string_view() : left.substr(plus + 1);
  }
  split_count(change);
  return change;
}

ChangeEffect apply_change(RecordNode& record, const RecordChange& change, const std::string& file) {
  return Changer(record, change, file).apply();
}

}  // namespace firstglow::core
