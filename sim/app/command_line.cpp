#include "sim/app/command_line.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <sstream>

#include "core/error.hpp"
#include "sim/app/commands.hpp"
#include "sim/app/exit_codes.hpp"
#include "sim/app/interrupts.hpp"
#include "sim/app/output_file.hpp"
#include "sim/app/terminal.hpp"
#include "sim/app/usage_error.hpp"
#include "sim/engine/cancel.hpp"

namespace firstglow::sim {
namespace {

constexpr const char* kAbout =
    "Predicts what every meter should read at the first power-up of a rebuilt tube\n"
    "transmitter's supply, which part is over its rating, and how long the capacitors\n"
    "stay charged. It predicts; your meter decides. Local code and licensed practice\n"
    "come first: docs/cautions.md.";

constexpr const char* kCodes =
    "Exit codes: 0 nothing unsafe, 1 something unsafe, 2 usage, 3 the record file\n"
    "must be changed, 4 no verdict, 70 our bug, 130 stopped by Ctrl-C. The worst\n"
    "verdict decides. More: docs/firstglow.1.md.";

/// Columns of the left half of the help.
constexpr std::size_t kHelpColumn = 26;

/// The parser's help, with the long descriptions wrapped to the page.
std::string narrow_help(const std::string& help) {
  const TextStyle style;
  std::string narrow;
  std::istringstream lines(help);
  for (std::string line; std::getline(lines, line);) {
    if (columns_of(line) <= style.width) {
      narrow += line + "\n";
      continue;
    }
    const std::string left = line.substr(0, kHelpColumn);
    std::string indent = left;
    const int room = style.width - static_cast<int>(kHelpColumn);
    for (const std::string& part : wrapped(line.substr(kHelpColumn), room)) {
      narrow += indent + part + "\n";
      indent.assign(kHelpColumn, ' ');
    }
  }
  return narrow;
}

/// What the parser has to say: help and version to the standard output, faults to the other.
int answer_parse_end(const CLI::App& app, const CLI::ParseError& end) {
  if (end.get_exit_code() == static_cast<int>(CLI::ExitCodes::Success)) {
    std::ostringstream out, unused;
    static_cast<void>(app.exit(end, out, unused));
    write_standard_output(narrow_help(out.str()));
    return kNothingUnsafe;
  }
  complain(end.what());
  complain("'firstglow --help' and 'firstglow COMMAND --help' tell what can be asked");
  return kUsage;
}

/// The parser itself would only say that a command is missing.
void require_known_command(const CLI::App& app, const std::string& word) {
  std::vector<std::string> names;
  for (const CLI::App* command : app.get_subcommands({})) {
    names.push_back(command->get_name());
  }
  const bool is_option = word.empty() || word.front() == '-';
  if (!is_option && std::find(names.begin(), names.end(), word) == names.end()) {
    throw UsageError(
        fmt::format("'{}' is no command; expected one of {}", word, fmt::join(names, ", ")));
  }
}

int parse_and_run(int argc, const char* const* argv) {
  CLI::App app{kAbout, "firstglow"};
  app.footer(kCodes);
  app.set_version_flag("--version", "firstglow " FIRSTGLOW_VERSION);
  app.require_subcommand(1);
  ChosenCommand chosen;
  app.get_formatter()->column_width(kHelpColumn);
  add_commands(app, chosen);
  if (argc > 1) {
    require_known_command(app, argv[1]);
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& end) {
    return answer_parse_end(app, end);
  }
  FIRSTGLOW_REQUIRE(chosen != nullptr, "the parser has chosen a command");
  return chosen();
}

int complain_and_give(std::string_view text, int code) {
  complain(text);
  return code;
}

int guarded(int argc, const char* const* argv) {
  try {
    return parse_and_run(argc, argv);
  } catch (const UsageError& error) {
    return complain_and_give(error.what(), kUsage);
  } catch (const core::InputError& error) {
    return complain_and_give(error.what(), kInput);
  } catch (const Cancelled&) {
    return complain_and_give("stopped; nothing was written", interrupt_exit_code());
  } catch (const core::SimulationError& error) {
    return complain_and_give(fmt::format("no verdict: {}", error.what()), kNoVerdict);
  } catch (const std::exception& error) {
    return complain_and_give(
        fmt::format("{}\nthis is a bug of firstglow; please report it with the record file",
                    error.what()),
        kOurBug);
  }
}

}  // namespace

int run_command_line(int argc, const char* const* argv) noexcept {
  try {
    return guarded(argc, argv);
  } catch (...) {  // e.g. no memory left to say so
    return kOurBug;
  }
}

}  // namespace firstglow::sim
