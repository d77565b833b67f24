#include "core/error.hpp"

#include <fmt/format.h>

#include <utility>

namespace firstglow::core {
namespace {

std::string join_faults(const std::string& file, const std::vector<InputFault>& faults) {
  std::string text;
  for (const InputFault& fault : faults) {
    if (!text.empty()) {
      text += '\n';
    }
    if (fault.where.line > 0) {
      text +=
          fmt::format("{}:{}:{}: {}", file, fault.where.line, fault.where.column, fault.message);
    } else {
      text += fmt::format("{}: {}", file, fault.message);
    }
  }
  return text;
}

}  // namespace

InputError::InputError(std::string file, std::vector<InputFault> faults)
    : Error(join_faults(file, faults)), file_(std::move(file)), faults_(std::move(faults)) {}

void throw_contract_error(const char* condition, const std::string& meaning, const char* file,
                          int line) {
  throw ContractError(
      fmt::format("internal error: {} (expected {}; {}:{})", meaning, condition, file, line));
}

}  // namespace firstglow::core
