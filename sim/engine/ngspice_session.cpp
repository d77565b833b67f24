#include "sim/engine/ngspice_session.hpp"

#include <ngspice/sharedspice.h>

#include <array>
#include <cmath>
#include <deque>
#include <string_view>

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

NgspiceSession::NgspiceSession() : state_(std::make_unique<State>()) {
  auto* send_char = +[](char* text, int /*id*/, void* user) noexcept -> int {
    auto& state = *static_cast<NgspiceSession::State*>(user);
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
  };
  auto* send_status = +[](char* /*text*/, int /*id*/, void* /*user*/) noexcept -> int { return 0; };
  auto* on_exit =
      +[](int /*status*/, bool /*now*/, bool /*quit*/, int /*id*/, void* user) noexcept -> int {
    static_cast<NgspiceSession::State*>(user)->exited = true;
    return 0;
  };
  auto* on_start = +[](pvecinfoall info, int /*id*/, void* user) noexcept -> int {
    auto& state = *static_cast<NgspiceSession::State*>(user);
    state.started = info != nullptr && info->title != nullptr && state.title == info->title;
    return 0;
  };
  if (ngSpice_Init(send_char, send_status, on_exit, nullptr, on_start, nullptr, state_.get()) !=
          0 ||
      state_->exited) {
    throw core::SimulationError("the circuit solver could not be started", {});
  }
  command("set noaskquit");
}

NgspiceSession::~NgspiceSession() = default;

SpiceResult NgspiceSession::run(std::vector<std::string> lines,
                                const std::vector<std::string>& vectors, double stop_s) {
  State& state = *state_;
  state.lines.clear();
  state.load_error = state.aborted = state.started = false;
  state.title = "firstglow run " + std::to_string(++state.run_number);
  if (!lines.empty()) {
    lines.front() = state.title;
  }
  // Without all three the former plot or circuit stays: time and memory grow, and a failed
  // load would run the former circuit.
  command("destroy all");
  command("remcirc");
  ngSpice_Command(nullptr);
  state.lines.clear();

  std::vector<char*> pointers;
  pointers.reserve(lines.size() + 1);
  for (std::string& line : lines) {
    pointers.push_back(line.data());
  }
  pointers.push_back(nullptr);

  SpiceResult result;
  state.loading = true;
  ngSpice_Circ(pointers.data());
  state.loading = false;
  if (!state.exited && !state.load_error) {
    command("run");
  }
  if (state.exited) {
    result.fatal = true;
    result.message = "the solver gave up the process";
  } else if (state.load_error) {
    result.message = "the solver did not take the circuit";
  } else if (!state.started) {
    result.message = "the solver did not start the run";
  } else {
    result.message = read_data(vectors, stop_s, result);
    if (result.message.empty() && state.aborted) {
      result.message = "the solver aborted the run";
    }
  }
  result.ok = result.message.empty();
  result.solver_lines.assign(state.lines.begin(), state.lines.end());
  if (!result.ok && result.failing_name.empty()) {
    result.failing_name = failing_name(result.solver_lines);
  }
  return result;
}

}  // namespace firstglow::sim
