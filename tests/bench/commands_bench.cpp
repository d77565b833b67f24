/// @file
/// How long does each command take on the demo rig, from the shell's point of view?
///
/// Runs the program itself, start and workers included, with its output thrown away. Exit code 1
/// (something is unsafe) is the demo rig's right answer; any other code but 0 stops the benchmark.

#include <benchmark/benchmark.h>
#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <string>

namespace {

/// Exit code of `firstglow <command> <demo rig>`, or -1 when it could not be started or was killed.
int exit_code_of(std::string command) {
  std::string program = FIRSTGLOW_PROGRAM;
  std::string rig = FIRSTGLOW_SOURCE_DIR "/scenarios/wrenfield-75/rig.yaml";
  std::array<char*, 4> arguments{program.data(), command.data(), rig.data(), nullptr};
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
  pid_t child = 0;
  const int failed =
      posix_spawn(&child, program.c_str(), &actions, nullptr, arguments.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  int status = 0;
  if (failed != 0 || waitpid(child, &status, 0) != child || !WIFEXITED(status)) {
    return -1;
  }
  return WEXITSTATUS(status);
}

void run_command(benchmark::State& state, const std::string& command) {
  for (auto step : state) {
    static_cast<void>(step);
    const int code = exit_code_of(command);
    if (code != 0 && code != 1) {
      state.SkipWithError("the command failed");
      break;
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  for (const char* command : {"check", "rampup", "margins", "inrush", "bleed"}) {
    benchmark::RegisterBenchmark(
        command, [command](benchmark::State& state) { run_command(state, command); })
        ->Unit(benchmark::kMillisecond)
        ->UseRealTime();
  }
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) {
    return 2;
  }
  benchmark::RunSpecifiedBenchmarks();
  benchmark::Shutdown();
  return 0;
}
