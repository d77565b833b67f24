#pragma once
/// @file
/// Who has to act when something cannot go on: the user, the run, or us?

#include <stdexcept>
#include <string>
#include <vector>

namespace firstglow::core {

/// Base of every exception thrown by firstglow; what() is complete alone.
class Error : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Place in a text file; line and column count from 1, 0 means unknown.
struct SourcePosition {
  int line = 0;
  int column = 0;
};

/// One fault in a file the user wrote: where, what was found, what was expected.
struct InputFault {
  SourcePosition where;
  std::string message;  ///< thing, value found, form expected, next step; without the position
};

/// The user's file must be changed. Carries every fault of the file; what() lists them all,
/// one per line, as `file:line:column: message`.
class InputError : public Error {
 public:
  InputError(std::string file, std::vector<InputFault> faults);
  [[nodiscard]] const std::string& file() const { return file_; }
  [[nodiscard]] const std::vector<InputFault>& faults() const { return faults_; }

 private:
  std::string file_;
  std::vector<InputFault> faults_;
};

/// A run of the engine gave no trustworthy answer: the result is "no verdict".
class SimulationError : public Error {
 public:
  struct Detail {
    std::string part;        ///< designator of the part at the failing node, empty if unknown
    double reached_s = 0.0;  ///< simulated time reached [s]
    std::vector<std::string> solver_lines;  ///< last lines the solver printed
    std::vector<int> part_indices;  ///< parts (of Rig::parts) at the failing node, may be empty
  };
  SimulationError(const std::string& what, Detail detail)
      : Error(what), detail_(std::move(detail)) {}
  [[nodiscard]] const Detail& detail() const { return detail_; }

 private:
  Detail detail_;
};

/// A broken promise inside firstglow: our bug.
class ContractError : public Error {
 public:
  using Error::Error;
};

[[noreturn]] void throw_contract_error(const char* condition, const std::string& meaning,
                                       const char* file, int line);

}  // namespace firstglow::core

/// Always armed check of a contract; throws ContractError with the meaning in words.
#define FIRSTGLOW_REQUIRE(condition, meaning)                                             \
  do {                                                                                    \
    if (!(condition)) {                                                                   \
      ::firstglow::core::throw_contract_error(#condition, (meaning), __FILE__, __LINE__); \
    }                                                                                     \
  } while (false)
