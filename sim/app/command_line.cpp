#include "sim/app/command_line.hpp"

#include <fmt/format.h>

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
    "Predicts what every meter should read at the first power-up of a rebuilt tube transmitter's\n"
    "supply, which part is over its rating, and how long the capacitors stay charged. It predicts;\n"
    "your meter decides. Local code and licensed practice come first: docs/cautions.md.";

constexpr const char* kCodes =
    "Exit codes: 0 nothing unsafe, 1 something unsafe, 2 usage, 3 the record file must be changed,\n"
    "4 no verdict, 70 our bug, 130 stopped by Ctrl-C. The worst verdict decides.";

/// What the parser has to say: help and version to the standard output, faults to the other.
int answer_parse_end(const CLI::App& app, const CLI::ParseError& end) {
  if (end.get_exit_code() == static_cast<int>(CLI::ExitCodes::Success)) {
    std::ostringstream out, unused;
    static_cast<void>(app.exit(end, out, unused));
    write_standard_output(out.str());
    return kNothingUnsafe;
  }
  complain(end.what());
  complain("'firstglow --help' and 'firstglow COMMAND --help' tell what can be asked");
  return kUsage;
}

int parse_and_run(int argc, const char* const* argv) {
  CLI::App app{kAbout, "firstglow"};
  app.footer(kCodes);
  app.set_version_flag("--version", "firstglow " FIRSTGLOW_VERSION);
  app.require_subcommand(1);
  ChosenCommand chosen;
  add_commands(app, chosen);
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
