#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "sim/engine/byte_stream.hpp"
#include "sim/engine/worker_process.hpp"
#include "tests/sim/raw_lines.hpp"

namespace firstglow::sim::testing {
namespace {

namespace fs = std::filesystem;

/// What an injected line must not do.
enum class Effect {
  makes_file,   ///< a file appears in the folder
  shows_secret  ///< the content of secret.txt appears among the messages
};

struct Injection {
  const char* name;
  std::vector<std::string> lines;  ///< DIR stands for the folder
  Effect effect = Effect::makes_file;
  bool works_unlocked = true;
};

std::ostream& operator<<(std::ostream& out, const Injection& injection) {
  return out << injection.name;
}

std::vector<Injection> injections() {
  return {
      {"ControlShell", {".control", "shell touch DIR/x", ".endc"}},
      {"ControlUpperCase", {"  .CONTROL", "shell touch DIR/x", "  .ENDC"}},
      {"ControlBackquotes", {".control", "echo `touch DIR/x`", ".endc"}},
      {"ControlUnixcom", {".control", "set unixcom", "touch DIR/x", ".endc"}},
      {"StarHashShell", {"*# shell touch DIR/x"}},
      {"StarHashBackquotes", {"*# echo `touch DIR/x`"}},
      {"IncludeWithControl", {".include DIR/evil.inc"}},
      {"IncWithControl", {".inc DIR/evil.inc"}},
      {"LibWithControl", {".lib DIR/evil.lib sec"}},
      {"IncludeSecret", {".include DIR/secret.txt"}, Effect::shows_secret},
      {"StarHashWrdata", {"*# run", "*# wrdata DIR/x v(n1)"}},
      {"StarHashWrite", {"*# run", "*# write DIR/x"}},
      {"StarHashEchoToFile", {"*# echo hi > DIR/x"}},
      {"PrintToFile", {".control", "run", "print v(n1) > DIR/x", ".endc"}},
      {"AlterBackquotes", {".control", "alter r1 = `touch DIR/x`", ".endc"}},
      {"CodemodelLibrary", {".control", "codemodel DIR/libopened.so", ".endc"}},
      {"PreCodemodelLibrary", {".control", "pre_codemodel DIR/libopened.so", ".endc"}},
      // Not effective even unlocked, because the session writes its own title and loads no
      // code models; listed so that a change is seen.
      {"TitleScript", {"TITLE *ng_script", "shell touch DIR/x"}, Effect::makes_file, false},
      {"FileSource",
       {"a1 %vd([n1 0]) fs", ".model fs filesource(file=\"DIR/secret.txt\")"},
       Effect::shows_secret,
       false},
      // ngspice refuses these by itself.
      {"EmbeddedNewline", {"r9 n1 0 1k\n*# shell touch DIR/x"}, Effect::makes_file, false},
      {"IncludePipe", {".include |touch DIR/x"}, Effect::makes_file, false},
      {"ParamBackquotes", {".param k=`touch DIR/x`"}, Effect::makes_file, false},
  };
}

/// New folder for temporary files. ngspice turns what it reads into lower case, so the usual
/// mixed-case names would keep an injection from doing its work.
fs::path new_folder() {
  for (int i = 0;; ++i) {
    fs::path folder = fs::temp_directory_path() /
                      ("firstglow-test-" + std::to_string(getpid()) + "-" + std::to_string(i));
    if (fs::create_directory(folder)) {
      return folder;
    }
  }
}

class EngineInjection : public ::testing::TestWithParam<Injection> {
 protected:
  void SetUp() override {
    folder_ = new_folder();
    std::ofstream(folder_ / "evil.inc")
        << "* included\n.control\nshell touch " << folder_.string() << "/x\n.endc\n";
    std::ofstream(folder_ / "evil.lib")
        << ".lib sec\n.control\nshell touch " << folder_.string() << "/x\n.endc\n.endl\n";
    std::ofstream(folder_ / "secret.txt") << "qcrownjewels 1 2 3\n";
    fs::copy_file(FIRSTGLOW_OPENED_LIBRARY, folder_ / "libopened.so");
  }
  void TearDown() override { fs::remove_all(folder_); }

  [[nodiscard]] std::vector<std::string> deck() const {
    std::vector<std::string> lines{"title"};
    for (std::string line : GetParam().lines) {
      for (std::size_t at = 0; (at = line.find("DIR", at)) != std::string::npos;) {
        line.replace(at, 3, folder_.string());
      }
      if (line.starts_with("TITLE ")) {
        lines.front() = line.substr(6);
      } else {
        lines.push_back(line);
      }
    }
    lines.insert(lines.end(),
                 {"v1 n1 0 sin(0 1 60)", "r1 n1 0 1k", ".tran 1e-4 0.01 0 1e-4 uic", ".end"});
    return lines;
  }
  [[nodiscard]] bool happened(const std::string& messages) const {
    if (GetParam().effect == Effect::shows_secret) {
      return messages.find("crownjewels") != std::string::npos;
    }
    return fs::exists(folder_ / "x") || fs::exists(folder_ / "x.raw") ||
           fs::exists(folder_ / "x.data");
  }
  fs::path folder_;
};

TEST_P(EngineInjection, HasNoEffectInTheLockedWorker) {
  WorkerProcess worker(FIRSTGLOW_RAW_WORKER);
  const RawAnswer answer = ask_raw(worker, deck());
  EXPECT_FALSE(happened(answer.text));
  // The next deck gets a right answer, from this process or from a new one.
  EXPECT_TRUE(ask_raw(worker, good_lines()).good());
}

TEST_P(EngineInjection, HasItsEffectWhereNothingIsLocked) {
  const fs::path file = folder_ / "deck";
  const fs::path output = folder_ / "output";
  {
    std::ofstream out(file);
    for (const std::string& line : deck()) {
      out << line << '\n';
    }
  }
  const std::string command =
      std::string(FIRSTGLOW_OPEN_SESSION) + " " + file.string() + " > " + output.string() + " 2>&1";
  [[maybe_unused]] const int status = std::system(command.c_str());
  std::ifstream in(output);
  const std::string messages{std::istreambuf_iterator<char>(in), {}};
  // The file splits an embedded newline into two lines: not the same injection any more.
  if (std::string(GetParam().name) != "EmbeddedNewline") {
    EXPECT_EQ(happened(messages), GetParam().works_unlocked) << messages;
  }
}

INSTANTIATE_TEST_SUITE_P(All, EngineInjection, ::testing::ValuesIn(injections()),
                         [](const auto& one) { return std::string(one.param.name); });

// `quit` ends the library; the answer says that the process must not be used again.
TEST(EngineInjectionEnd, QuitGivesAnErrorAndTheNextRunIsRight) {
  WorkerProcess worker(FIRSTGLOW_RAW_WORKER);
  std::vector<std::string> lines = good_lines();
  lines.insert(lines.begin() + 1, "*# quit");
  EXPECT_FALSE(ask_raw(worker, lines).good());
  EXPECT_TRUE(ask_raw(worker, good_lines()).good());
}

TEST(EngineInjectionEnd, EndlessLoopIsEndedByTheDeadline) {
  WorkerProcess worker(FIRSTGLOW_RAW_WORKER);
  std::vector<std::string> lines = good_lines();
  lines.insert(lines.begin() + 1, {".control", "while 1", "end", ".endc"});
  const RawAnswer answer = ask_raw(worker, lines, std::chrono::milliseconds(500));
  ASSERT_TRUE(answer.trouble.has_value());
  EXPECT_EQ(answer.trouble->kind, WorkerTrouble::Kind::deadline);
  EXPECT_TRUE(ask_raw(worker, good_lines()).good());
}

// A start file in the folder a user works in, or in the home folder, is not run.
TEST(EngineInjectionEnd, StartFilesAreNotRun) {
  const fs::path folder = new_folder();
  for (const char* name : {".spiceinit", "spinit"}) {
    std::ofstream(folder / name) << "* start\nshell touch " << folder.string() << "/ran\n";
  }
  const fs::path before = fs::current_path();
  fs::current_path(folder);
  setenv("HOME", folder.c_str(), 1);           // NOLINT(concurrency-mt-unsafe)
  setenv("SPICE_SCRIPTS", folder.c_str(), 1);  // NOLINT(concurrency-mt-unsafe)
  {
    WorkerProcess worker(FIRSTGLOW_RAW_WORKER);
    EXPECT_TRUE(ask_raw(worker, good_lines()).good());
  }
  EXPECT_FALSE(fs::exists(folder / "ran"));
  // Control: the library itself does run them.
  std::ofstream(folder / "deck") << "title\nr1 n1 0 1\n.end\n";
  const std::string command = std::string(FIRSTGLOW_OPEN_SESSION) + " deck > output 2>&1";
  [[maybe_unused]] const int status = std::system(command.c_str());
  EXPECT_TRUE(fs::exists(folder / "ran"));
  unsetenv("SPICE_SCRIPTS");  // NOLINT(concurrency-mt-unsafe)
  fs::current_path(before);
  fs::remove_all(folder);
}

}  // namespace
}  // namespace firstglow::sim::testing
