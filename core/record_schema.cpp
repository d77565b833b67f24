#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "core/record_fields.hpp"
#include "core/rig_reader.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {
std::string record_schema_json() { return "{}"; }
}  // namespace firstglow::core
