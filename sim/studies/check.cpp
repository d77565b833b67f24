#include "sim/studies/check.hpp"

#include "sim/studies/check_ohms.hpp"
#include "sim/studies/check_words.hpp"

namespace firstglow::sim {

CheckResult check_rig(const core::Rig& rig) {
  CheckResult result;
  result.nets = net_lines(rig);
  result.ohms = ohms_readings(rig);
  result.derived = derived_figures(rig, result.ohms);
  result.missing = missing_items(rig);
  result.remarks = wiring_remarks(rig);
  return result;
}

}  // namespace firstglow::sim
