#include "tests/core/record_texts.hpp"

#include <fstream>
#include <sstream>
#include <stdexcept>

#include "core/rig_reader.hpp"

namespace firstglow::core {

std::string source_file(const std::string& path) {
  const std::ifstream stream(std::string(FIRSTGLOW_SOURCE_DIR) + "/" + path, std::ios::binary);
  std::ostringstream text;
  text << stream.rdbuf();
  if (!stream || text.str().empty()) {
    throw std::runtime_error("no such file in the source folder: " + path);
  }
  return text.str();
}

std::string small_record() { return source_file("tests/core/small_rig.yaml"); }
std::string demo_record() { return source_file("scenarios/wrenfield-75/rig.yaml"); }

std::string edited(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  if (at == std::string::npos) {
    throw std::runtime_error("the record does not hold: " + from);
  }
  return text.replace(at, from.size(), to);
}

std::string faults_of(const std::string& text) {
  try {
    (void)read_rig_text(text, "rig.yaml");
  } catch (const InputError& error) {
    return error.what();
  }
  return "no fault";
}

}  // namespace firstglow::core
