#include "sim/engine/ngspice_session.hpp"

#include <fmt/format.h>
#include <ngspice/sharedspice.h>

#include <cmath>
#include <deque>

#include "core/error.hpp"
#include "sim/engine/solver_lines.hpp"

namespace firstglow::sim {

/// What the callbacks leave behind. They run inside the library and must not throw.
struct NgspiceSession::State {
  bool exited = false;
  bool load_error = false;
  bool loading = false;
  bool aborted = false;
  bool started = false;
  unsigned long run_number = 0;
  std::string title;
  std::deque<std::string> lines;

  static State& of(void* user) noexcept { return *static_cast<State*>(user); }
  static int on_text(char* text, int id, void* user) noexcept;
  static int on_status(char* text, int id, void* user) noexcept;
  static int on_exit(int status, bool now, bool quit, int id, void* user) noexcept;
  static int on_start(pvecinfoall info, int id, void* user) noexcept;

  void begin_run();
  void load_and_run(std::vector<std::string>& deck_lines);
  [[nodiscard]] std::string trouble() const;
};

namespace {

constexpr std::size_t kLinesKept = 40;

/// Stop time and last time agree to this part of the stop time.
constexpr double kTimeTolerance = 1e-9;

std::string plain_line(const char* text) {
  std::string line(text == nullptr ? "" : text);
  for (char& c : line) {
    const auto byte = static_cast<unsigned char>(c);
    c = byte < 0x20 || byte > 0x7e ? ' ' : c;
  }
  constexpr std::size_t kLongest = 300;
  return line.substr(0, kLongest);
}

int command(const std::string& text) {
  std::string copy = text;
  return ngSpice_Command(copy.data());
}

/// Empty when the vector is missing, complex or not of the expected length.
std::vector<double> read_vector(const std::string& name, std::size_t length) {
  std::string copy = name;
  const vector_info* info = ngGet_Vec_Info(copy.data());
  if (info == nullptr || info->v_realdata == nullptr || info->v_length < 1 ||
      (length != 0 && static_cast<std::size_t>(info->v_length) != length)) {
    return {};
  }
  return {info->v_realdata, info->v_realdata + info->v_length};
}

bool all_finite(const std::vector<double>& values) {
  for (const double value : values) {
    if (!std::isfinite(value)) {
      return false;
    }
  }
  return true;
}

/// Copies the data and says what is wrong with them; empty when nothing is.
std::string read_data(const std::vector<std::string>& names, double stop_s, SpiceResult& result) {
  result.time_s = read_vector("time", 0);
  if (result.time_s.size() < 2) {
    return "the solver gave no data";
  }
  result.reached_s = result.time_s.back();
  if (!(std::abs(result.reached_s - stop_s) <= kTimeTolerance * stop_s)) {
    return "the solver stopped before the end";
  }
  for (const std::string& name : names) {
    std::vector<double> values = read_vector(name, result.time_s.size());
    if (values.empty()) {
      return "the solver gave no data for " + name;
    }
    if (!all_finite(values)) {
      result.failing_name = name;
      return "the solver gave an infinite or undefined value for " + name;
    }
    result.vectors.push_back(std::move(values));
  }
  return {};
}

}  // namespace

int NgspiceSession::State::on_text(char* text, int /*id*/, void* user) noexcept {
  State& state = of(user);
  try {
    std::string line = plain_line(text);
    state.load_error = state.load_error || (state.loading && tells_load_error(line));
    state.aborted = state.aborted || tells_abort(line);
    state.lines.push_back(std::move(line));
    if (state.lines.size() > kLinesKept) {
      state.lines.pop_front();
    }
  } catch (...) {
    state.aborted = true;
  }
  return 0;
}

int NgspiceSession::State::on_status(char* /*text*/, int /*id*/, void* /*user*/) noexcept {
  return 0;
}

int NgspiceSession::State::on_exit(int /*status*/, bool /*now*/, bool /*quit*/, int /*id*/,
                                   void* user) noexcept {
  of(user).exited = true;
  return 0;
}

int NgspiceSession::State::on_start(pvecinfoall info, int /*id*/, void* user) noexcept {
  State& state = of(user);
  state.started = info != nullptr && info->title != nullptr && state.title == info->title;
  return 0;
}

/// Clears the former run. Without all three commands the former plot or circuit stays: time and
/// memory grow, and a failed load would run the former circuit.
void NgspiceSession::State::begin_run() {
  load_error = aborted = started = false;
  title = fmt::format("firstglow run {}", ++run_number);
  command("destroy all");
  command("remcirc");
  ngSpice_Command(nullptr);
  lines.clear();
}

void NgspiceSession::State::load_and_run(std::vector<std::string>& deck_lines) {
  if (!deck_lines.empty()) {
    deck_lines.front() = title;
  }
  std::vector<char*> pointers;
  pointers.reserve(deck_lines.size() + 1);
  for (std::string& line : deck_lines) {
    pointers.push_back(line.data());
  }
  pointers.push_back(nullptr);
  loading = true;
  ngSpice_Circ(pointers.data());
  loading = false;
  if (!exited && !load_error) {
    command("run");
  }
}

/// What the callbacks say against this run; empty when nothing.
std::string NgspiceSession::State::trouble() const {
  if (exited) {
    return "the solver gave up the process";
  }
  if (load_error) {
    return "the solver did not take the circuit";
  }
  if (!started) {
    return "the solver did not start the run";
  }
  return {};
}

NgspiceSession::NgspiceSession() : state_(std::make_unique<State>()) {
  if (ngSpice_Init(State::on_text, State::on_status, State::on_exit, nullptr, State::on_start,
                   nullptr, state_.get()) != 0 ||
      state_->exited) {
    throw core::SimulationError("the circuit solver could not be started", {});
  }
}

NgspiceSession::~NgspiceSession() = default;

SpiceResult NgspiceSession::run(std::vector<std::string> lines,
                                const std::vector<std::string>& vectors, double stop_s) {
  state_->begin_run();
  state_->load_and_run(lines);
  SpiceResult result;
  result.fatal = state_->exited;
  result.message = state_->trouble();
  if (result.message.empty()) {
    result.message = read_data(vectors, stop_s, result);
  }
  if (result.message.empty() && state_->aborted) {
    result.message = "the solver aborted the run";
  }
  result.ok = result.message.empty();
  result.solver_lines.assign(state_->lines.begin(), state_->lines.end());
  if (!result.ok && result.failing_name.empty()) {
    result.failing_name = failing_name(result.solver_lines);
  }
  return result;
}

}  // namespace firstglow::sim
