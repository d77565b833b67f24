#include "tests/report/sample_results.hpp"

#include <string>

#include "core/rig_reader.hpp"

namespace firstglow::test {

using core::Finding;
using core::Verdict;
using sim::Band;

core::Rig demo_rig() {
  return core::read_rig_file(std::string(FIRSTGLOW_SOURCE_DIR) +
                             "/scenarios/wrenfield-75/rig.yaml");
}

sim::CheckResult sample_check() {
  sim::CheckResult result;
  result.nets = {{"CHASSIS", {"T1 plate end 2", "R3", "C2 minus"}},
                 {"B+", {"L1", "C1 plus", "R1", "R3", "R7", "EXC plus", "PA plus"}}};
  sim::OhmsReading b_plus;
  b_plus.node = "B+";
  b_plus.red_ohm = 20060.0;
  b_plus.red_low_ohm = 18400.0;
  b_plus.red_high_ohm = 21700.0;
  b_plus.black_ohm = 22.0;
  b_plus.black_through_rectifier = true;
  sim::OhmsReading screen;
  screen.node = "SCREEN";
  result.ohms = {b_plus, screen};
  result.derived = {{"T1", "core loss resistance", 1303.7, "ohm",
                     "117 V squared over the no-load watts less copper loss", false},
                    {"C5", "series resistance", 0.5, "ohm", "default for film", true}};
  result.missing = {{"F1", "melting_i2t", "inrush: does the fuse hold?"}};
  result.remarks = {"P1 feeds T1 without a variac in the record: the dial is taken at the plug."};
  return result;
}

namespace {

sim::RampStep ramp_step(double volts, bool lamp) {
  sim::RampStep step;
  step.variac_vrms = volts;
  step.mains_a = {0.0031 * volts, 0.0033 * volts, 0.0036 * volts};
  step.mains_w = {0.0019 * volts * volts, 0.002 * volts * volts, 0.0023 * volts * volts};
  if (lamp) {
    step.lamp = sim::LampReading{
        {volts * 0.1, volts * 0.12, volts * 0.15}, {0.2, 0.31, 0.4}, 0.5 + volts * 0.02};
  }
  sim::NodeReading b_plus{"B+",
                          {4.6 * volts, 4.9 * volts, 5.2 * volts},
                          0.011 * volts,
                          0.034 * volts,
                          {4.71, 4.9, 5.08},
                          true};
  sim::NodeReading winding{"HV1", {-0.1, 0.0, 0.1}, 5.13 * volts, 14.5 * volts, {0, 0, 0}, false};
  step.nodes = {b_plus, winding};
  step.midpoints = {{"MID", "B+", "CHASSIS", {0.482, 0.492, 0.503}}};
  step.heats = {
      {"R3", {0.0007 * volts * volts, 0.0009 * volts * volts, 0.0011 * volts * volts}, 25.0},
      {"T1", {1.0, 1.1, 1.2}, std::nullopt}};
  step.stop_if = {{"mains current, true rms", "A", std::nullopt, 0.005 * volts,
                   "half as much again as the highest predicted"},
                  {"B+ to chassis", "V DC", 4.4 * volts, 5.5 * volts,
                   "outside: a capacitor, rectifier or bleeder is not what the record says"}};
  return step;
}

}  // namespace

sim::RampupResult sample_rampup() {
  sim::RampupResult result;
  for (const bool lamp : {true, false}) {
    sim::RampPass pass;
    pass.stage = netlists::Stage::tubes_out;
    pass.with_lamp = lamp;
    for (const double volts : {10.0, 60.0, 120.0}) {
      pass.steps.push_back(ramp_step(volts, lamp));
    }
    result.passes.push_back(pass);
  }
  sim::RampStep failed;
  failed.variac_vrms = 127.0;
  failed.failure = "the solver gave up near C1";
  result.passes.back().steps.push_back(failed);
  result.lamps = {{netlists::Stage::tubes_out, 40.0, 34.0, 95.0, false, "too bright on a good rig"},
                  {netlists::Stage::tubes_out, 100.0, 8.0, 89.0, true, "dark when good"}};
  result.assumptions = {"Line at the socket between 110 V and 127 V."};
  result.findings = {{"ramp-run", "C1", "run at 127 V", "V", std::nullopt, std::nullopt,
                      "tubes out, no lamp", std::nullopt, "", Verdict::no_verdict,
                      "the run failed; no prediction for this step"}};
  return result;
}

sim::MarginsResult sample_margins() {
  sim::MarginsResult result;
  result.findings = {
      {"resistor-watts", "R3", "continuous watts", "W", 27.4, 25.0, "tubes out, high line 127 V",
       std::nullopt, "record", Verdict::unsafe, "fit a 50 W part"},
      {"capacitor-surge-volts", "C1", "peak volts across", "V", 612.0, 525.0,
       "cold switch-on, high line 127 V, tubes out, closing at 90 deg", 0.0062, "record",
       Verdict::unsafe, "two 450 V cans are not enough behind silicon"},
      {"fuse-i2t", "F1", "let-through of the inrush", "A^2 s", 3.2, std::nullopt, "cold switch-on",
       std::nullopt, "", Verdict::no_verdict,
       "melting_i2t is not in the record; take it from the sheet of the fuse"},
      {"diode-piv", "D1", "peak inverse volts", "V", 1796.0, 3000.0, "high line, tubes out", 0.0123,
       "[1N4007-DS]", Verdict::safe, ""},
      {"diode-average", "D1", "average amps", "A", 0.101, 1.0, "key down", std::nullopt,
       "[1N4007-DS]", Verdict::safe, ""}};
  result.situations = {"cold switch-on, high line, tubes out, 12 angles"};
  result.assumptions = {"Diodes of a string share the volts evenly."};
  result.traces = {{"cold switch-on, 90 deg: B+", "V", {0.0, 0.001}, {0.0, 12.5}}};
  return result;
}

namespace {

sim::CapacitorDischarge discharge(const char* part, double start_v, std::optional<double> time_s) {
  sim::CapacitorDischarge one;
  one.part = part;
  one.capacitance_f = 60e-6;
  one.start_v = start_v;
  one.start_j = 0.5 * 60e-6 * start_v * start_v;
  one.limits = {{"below 50 V", "[NEC-460-6]", time_s},
                {"below 1 J from 100 V up, below 100 J under it", "[NFPA-70E-360]",
                 time_s ? std::optional<double>(*time_s * 0.7) : std::nullopt}};
  one.time_s = {0.0, 1.0};
  one.volts = {start_v, start_v * 0.9};
  one.joules = {one.start_j, one.start_j * 0.81};
  return one;
}

}  // namespace

sim::BleedResult sample_bleed() {
  sim::BleedResult result;
  result.start = "cold switch-on peak, high line 127 V, tubes out";
  sim::DischargeCase intact;
  intact.name = "slowest corner, all paths intact";
  intact.capacitors = {discharge("C2", 421.0, 3.31), discharge("C1", 455.0, 3.42)};
  intact.last_part = "C1";
  intact.last_s = 3.42;
  sim::DischargeCase open = intact;
  open.name = "R3 open";
  open.open_part = "R3";
  open.capacitors = {discharge("C1", 455.0, 47.2), discharge("C2", 421.0, 1250.0)};
  open.last_part = "C2";
  open.last_s = 1250.0;
  sim::DischargeCase never = intact;
  never.name = "R6 open";
  never.open_part = "R6";
  never.capacitors = {discharge("C4", -88.0, std::nullopt)};
  never.last_part = "C4";
  never.last_s.reset();
  result.cases = {intact, open, never};
  result.bleeders = {{"R3", 912.0, 33.3, 25.0, 1000.0},
                     {"R6", 91.0, 0.55, std::nullopt, std::nullopt}};
  result.engine_deviation = 0.00031;
  result.findings = {{"bleed-time", "C4", "time to fall below 50 V, R6 open", "s", std::nullopt,
                      60.0, "R6 open", std::nullopt, "[NEC-460-6]", Verdict::unsafe,
                      "no path is left; fit a second bleeder across C4"}};
  result.limit = sim::volts_limit(50.0);
  result.warnings = {"C4 empties itself only while R6 is whole."};
  sim::Rebound rebound;
  rebound.part = "C1";
  rebound.dielectric = "wet aluminium electrolytic";
  rebound.share = 0.15;
  rebound.test = "1 h charged, 10 s shorted, read after 15 min";
  rebound.source = "GLASER-DA";
  rebound.start_v = 455.0;
  rebound.limit_v = 50.0;
  rebound.peak_v = 112.0;
  rebound.above_after_s = 44.0;
  rebound.short_needed_s = 5400.0;
  rebound.time_s = {0.0, 100.0};
  rebound.volts = {0.0, 61.5};
  result.rebounds = {rebound};
  result.assumptions = {"Cold tubes draw nothing.", "Capacitor leakage does not help."};
  return result;
}

sim::InrushResult sample_inrush() {
  sim::InrushResult result;
  sim::InrushPoint zero;
  zero.angle_deg = 0.0;
  zero.first_cycle_peak_a = 21.4;
  zero.first_cycle_rms_a = 9.1;
  zero.first_second_peak_a = 21.4;
  zero.first_second_rms_a = 4.2;
  zero.first_cycle_i2t = 1.38;
  zero.first_second_i2t = 17.6;
  zero.worst_rectifier_peak_a = 2.1;
  zero.worst_rectifier = "D1";
  sim::InrushPoint right = zero;
  right.angle_deg = 90.0;
  right.first_cycle_peak_a = 38.2;
  sim::InrushPoint failed;
  failed.angle_deg = 180.0;
  failed.failure = "no trustworthy result after one retry";
  result.points = {zero, right, failed};
  result.steady_mains_a = 1.42;
  result.findings = {{"diode-surge", "D1", "first-cycle peak", "A", 2.1, 30.0, "closing at 90 deg",
                      0.004, "[1N4007-DS]", Verdict::safe, ""}};
  result.assumptions = {"The core saturates: the worst remanence is shown."};
  result.traces = {{"90 deg: mains", "A", {0.0, 0.5}, {0.0, -3.25}}};
  return result;
}

}  // namespace firstglow::test
