#include "sim/report/rampup_gates.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

/// Words, and the dial volts they hold for, in the order in which they first come.
class ByWords {
 public:
  void add(const std::string& words, double volts) {
    auto found = std::find_if(lines_.begin(), lines_.end(),
                              [&](const auto& line) { return line.first == words; });
    if (found == lines_.end()) {
      lines_.emplace_back(words, plain(volts));
    } else {
      found->second += ", " + plain(volts);
    }
  }
  void put(Page& page, const char* marker) const {
    for (const auto& [words, volts] : lines_) {
      page.item(marker, fmt::format("{} V: {}", volts, words));
    }
  }

 private:
  std::vector<std::pair<std::string, std::string>> lines_;
};

}  // namespace

void add_gates(Page& page, const RampPass& pass) {
  for (const std::string& gate : pass.gates) {
    page.item("!", gate);
  }
}

void add_step_warnings(Page& page, const RampPass& pass) {
  ByWords refused, failed, remarks;
  for (const RampStep& step : pass.steps) {
    if (step.refused) {
      refused.add(step.failure + ".", step.variac_vrms);
    } else if (!step.failure.empty()) {
      failed.add("NO PREDICTION, do not go there: " + step.failure, step.variac_vrms);
    }
    for (const std::string& remark : step.remarks) {
      remarks.add(remark + ".", step.variac_vrms);
    }
  }
  refused.put(page, "!");
  failed.put(page, "?");
  remarks.put(page, "!");
}

}  // namespace firstglow::sim
