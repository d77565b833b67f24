#include "sim/report/rampup_gates.hpp"

#include <fmt/format.h>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {

void add_gates(Page& page, const RampPass& pass) {
  for (const std::string& gate : pass.gates) {
    page.item("!", gate);
  }
  for (const RampStep& step : pass.steps) {
    for (const std::string& remark : step.remarks) {
      page.item("!", fmt::format("{} V: {}.", plain(step.variac_vrms), remark));
    }
  }
}

}  // namespace firstglow::sim
