/// @file
/// Prints one hand-filled answer, for people to look at and for the schema test:
/// print_sample COMMAND text|json|csv

#include <cstdio>
#include <iostream>
#include <string>

#include "sim/report/bleed_report.hpp"
#include "sim/report/check_report.hpp"
#include "sim/report/inrush_report.hpp"
#include "sim/report/margins_report.hpp"
#include "sim/report/netlist_report.hpp"
#include "sim/report/rampup_report.hpp"
#include "tests/report/sample_results.hpp"

namespace {

using namespace firstglow;  // NOLINT(google-build-using-namespace)

std::string sample(const std::string& command, const std::string& form) {
  const core::Rig rig = test::demo_rig();
  const bool json = form == "json", csv = form == "csv";
  const sim::TextStyle style;
  if (command == "check") {
    const auto result = test::sample_check();
    return json ? sim::check_json(rig, result) : sim::check_text(rig, result, style);
  }
  if (command == "rampup") {
    const auto result = test::sample_rampup();
    return csv    ? sim::rampup_csv(result)
           : json ? sim::rampup_json(rig, result)
                  : sim::rampup_text(rig, result, style);
  }
  if (command == "margins") {
    const auto result = test::sample_margins();
    return csv    ? sim::margins_csv(result)
           : json ? sim::margins_json(rig, result)
                  : sim::margins_text(rig, result, style);
  }
  if (command == "bleed") {
    const auto result = test::sample_bleed();
    return csv    ? sim::bleed_csv(result)
           : json ? sim::bleed_json(rig, result)
                  : sim::bleed_text(rig, result, style);
  }
  if (command == "inrush") {
    const auto result = test::sample_inrush();
    return csv    ? sim::inrush_csv(result)
           : json ? sim::inrush_json(rig, result)
                  : sim::inrush_text(rig, result, style);
  }
  return sim::netlist_json(rig, {}, "* title\n.end\n");
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::cerr << "usage: print_sample COMMAND text|json|csv\n";
    return 2;
  }
  std::cout << sample(argv[1], argv[2]);
  return 0;
}
