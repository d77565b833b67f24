#include "core/rig_reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <utility>

#include "core/part_reader.hpp"
#include "core/record_tree.hpp"
#include "core/rig_checks.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
namespace {

/// More faults than this help nobody; the rest is counted.
constexpr std::size_t kMostFaultsShown = 100;

[[noreturn]] void throw_faults(const std::string& file, std::vector<InputFault> faults) {
  std::stable_sort(faults.begin(), faults.end(), [](const InputFault& x, const InputFault& y) {
    return std::pair(x.where.line, x.where.column) < std::pair(y.where.line, y.where.column);
  });
  if (faults.size() > kMostFaultsShown) {
    const std::size_t more = faults.size() - kMostFaultsShown;
    faults.resize(kMostFaultsShown);
    faults.push_back({faults.back().where,
                      fmt::format("{} more faults are not shown; correct these first", more)});
  }
  throw InputError(file, std::move(faults));
}

void check_version(FieldReader& fields) {
  const RecordNode* version = fields.node("firstglow");
  if (version != nullptr && trimmed(version->text) != fmt::format("{}", kRecordVersion)) {
    fields.fault("firstglow", fmt::format("version {} is found; expected {}; this program reads no "
                                          "other version of the format",
                                          in_quotes(version->text), kRecordVersion));
  }
}

/// The chassis node; a list of grounds is refused here.
std::string read_chassis(FieldReader& fields) {
  const RecordNode* chassis = fields.node("chassis");
  if (chassis != nullptr && chassis->shape == RecordShape::list) {
    fields.fault(
        "chassis",
        fmt::format("{} grounds are found; expected the one node that is the chassis; join "
                    "them into one node, or draw what lies between them as a part",
                    chassis->children.size()));
    return {};
  }
  std::string name = fields.text("chassis");
  if (name == kOpenName) {
    fields.fault("chassis",
                 "the word 'open' marks insulated ends; expected the chassis node; "
                 "choose another name");
  }
  return name;
}

/// @returns true when every part's place in the circuit is known.
bool read_parts(FieldReader& fields, NodeTable& nodes, Rig& rig, std::vector<InputFault>& faults) {
  const RecordNode* parts = fields.node("parts");
  if (parts == nullptr) {
    return false;
  }
  if (parts->shape != RecordShape::map || parts->children.empty()) {
    fields.fault(
        "parts",
        fmt::format("{} is found; expected a map, designator: part; write the "
                    "parts under their designators",
                    parts->shape == RecordShape::map ? "an empty map" : shape_words(parts->shape)));
    return false;
  }
  bool all_connected = true;
  for (const RecordNode& entry : parts->children) {
    ReadPart read = read_part(entry, nodes, faults);
    all_connected = all_connected && read.connected;
    rig.parts.push_back(std::move(read.part));
  }
  return all_connected;
}

RecordNode read_root(std::string_view text, const std::string& file,
                     std::vector<InputFault>& faults) {
  if (text.size() > kLargestRecordFile) {
    throw InputError(file, {{{},
                             fmt::format("the file has more than {} bytes, the most a record "
                                         "may have; expected fewer; split it or remove what "
                                         "is no record",
                                         kLargestRecordFile)}});
  }
  RecordNode root = parse_record(text, faults);
  if (root.shape != RecordShape::map) {
    if (faults.empty()) {
      faults.push_back({{1, 1},
                        fmt::format("the record holds {}; expected a map that starts with "
                                    "'firstglow: {}'; see docs/records.md",
                                    shape_words(root.shape), kRecordVersion)});
    }
    throw_faults(file, std::move(faults));
  }
  return root;
}

Rig read_root_as_rig(const RecordNode& root, const std::string& file,
                     std::vector<InputFault> faults) {
  FieldReader fields(root, record_fields(), "record", faults);
  check_version(fields);
  Rig rig;
  rig.file = file;
  rig.name = fields.text("name");
  rig.description = fields.text("description");
  const std::string chassis = read_chassis(fields);
  NodeTable nodes(chassis, fields.where("chassis"));
  const bool all_connected = read_parts(fields, nodes, rig, faults);
  rig.nodes = nodes.nodes();
  if (all_connected && !chassis.empty()) {
    const std::vector<InputFault> more = check_rig(rig);
    faults.insert(faults.end(), more.begin(), more.end());
  }
  if (!faults.empty()) {
    throw_faults(file, std::move(faults));
  }
  return rig;
}

std::string text_of_file(const std::string& path) {
  std::ifstream stream(path, std::ios::binary);
  std::string text;
  if (stream) {
    // One byte more than allowed is enough to know that the file is too large.
    text.resize(kLargestRecordFile + 1);
    stream.read(text.data(), static_cast<std::streamsize>(text.size()));
    text.resize(static_cast<std::size_t>(stream.gcount()));
  }
  if (!stream.is_open() || stream.bad() || (text.empty() && !stream.eof())) {
    throw InputError(path, {{{},
                             "the file cannot be read; expected a record file; check its name "
                             "and permissions"}});
  }
  return text;
}

}  // namespace

Rig read_rig_text(std::string_view text, const std::string& file) {
  std::vector<InputFault> faults;
  const RecordNode root = read_root(text, file, faults);
  return read_root_as_rig(root, file, std::move(faults));
}

Rig read_rig_file(const std::string& path) { return read_rig_text(text_of_file(path), path); }

RecordNode read_record_file(const std::string& path) {
  std::vector<InputFault> faults;
  RecordNode root = read_root(text_of_file(path), path, faults);
  if (!faults.empty()) {
    throw_faults(path, std::move(faults));
  }
  return root;
}

Rig read_rig_record(const RecordNode& root, const std::string& file) {
  return read_root_as_rig(root, file, {});
}

}  // namespace firstglow::core
