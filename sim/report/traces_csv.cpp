#include "sim/report/traces_csv.hpp"

#include <fmt/format.h>

#include <cmath>

#include "core/error.hpp"
#include "sim/report/bleed_report.hpp"
#include "sim/report/inrush_report.hpp"
#include "sim/report/margins_report.hpp"
#include "sim/report/rampup_report.hpp"

namespace firstglow::sim {
namespace {

void add_curve(std::vector<Trace>& traces, const std::string& name, const char* unit,
               const std::vector<double>& time_s, const std::vector<double>& value) {
  traces.push_back({name, unit, time_s, value});
}

class RampRows {
 public:
  RampRows() : text_("stage,lamp,variac_vrms,reading,unit,low,nominal,high\r\n") {}

  void start(const RampPass& pass, const RampStep& step) {
    head_ = fmt::format("{},{},{}", netlists::stage_key(pass.stage), pass.with_lamp ? "in" : "out",
                        csv_number(step.variac_vrms));
  }
  void add(const std::string& reading, const char* unit, const Band& band) {
    text_ += fmt::format("{},{},{},{},{},{}\r\n", head_, csv_field(reading), unit,
                         csv_number(band.low), csv_number(band.nominal), csv_number(band.high));
  }
  /// A reading of which only the nominal value is known.
  void add(const std::string& reading, const char* unit, double nominal) {
    text_ += fmt::format("{},{},{},,{},\r\n", head_, csv_field(reading), unit, csv_number(nominal));
  }
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  std::string text_, head_;
};

void add_step(RampRows& rows, const RampPass& pass, const RampStep& step) {
  rows.start(pass, step);
  rows.add("mains current", "A rms", step.mains_a);
  rows.add("mains power", "W", step.mains_w);
  if (step.lamp) {
    rows.add("lamp volts", "V rms", step.lamp->volts);
    rows.add("lamp power", "W", step.lamp->watts);
  }
  for (const NodeReading& node : step.nodes) {
    rows.add(node.node + ": DC", "V DC", node.dc_v);
    rows.add(node.node + ": DC per mains volt", "V/V", node.per_mains_volt);
    rows.add(node.node + ": AC", "V rms", node.ac_vrms);
    rows.add(node.node + ": ripple", "V p-p", node.ripple_vpp);
  }
  for (const MidpointReading& midpoint : step.midpoints) {
    rows.add(midpoint.node + ": share of the stack", "V/V", midpoint.fraction);
  }
  for (const PartHeat& heat : step.heats) {
    rows.add(heat.part + ": heat", "W", heat.watts);
  }
}

}  // namespace

std::string csv_field(std::string_view text) {
  std::string safe(text);
  if (!safe.empty() && std::string_view("=+-@\t\r").find(safe.front()) != std::string_view::npos) {
    safe.insert(safe.begin(), '\'');
  }
  if (safe.find_first_of(",\"\r\n") == std::string::npos) {
    return safe;
  }
  std::string quoted = "\"";
  for (const char c : safe) {
    quoted += c;
    if (c == '"') {
      quoted += '"';
    }
  }
  return quoted + "\"";
}

std::string csv_number(double value) {
  FIRSTGLOW_REQUIRE(std::isfinite(value), "a written number is finite");
  return fmt::format("{}", value);
}

std::string traces_csv(const std::vector<Trace>& traces) {
  std::string text = "trace,unit,time_s,value\r\n";
  for (const Trace& trace : traces) {
    FIRSTGLOW_REQUIRE(trace.time_s.size() == trace.value.size(), "a trace has a value per time");
    const std::string head = csv_field(trace.name) + "," + csv_field(trace.unit) + ",";
    for (std::size_t i = 0; i < trace.time_s.size(); ++i) {
      text += head + csv_number(trace.time_s[i]) + "," + csv_number(trace.value[i]) + "\r\n";
    }
  }
  return text;
}

std::string margins_csv(const MarginsResult& result) { return traces_csv(result.traces); }

std::string inrush_csv(const InrushResult& result) { return traces_csv(result.traces); }

std::string bleed_csv(const BleedResult& result) {
  std::vector<Trace> traces;
  for (const DischargeCase& one : result.cases) {
    for (const CapacitorDischarge& capacitor : one.capacitors) {
      const std::string name = fmt::format("{}: {}", one.name, capacitor.part);
      add_curve(traces, name, "V", capacitor.time_s, capacitor.volts);
      add_curve(traces, name, "J", capacitor.time_s, capacitor.joules);
    }
  }
  for (const Rebound& rebound : result.rebounds) {
    add_curve(traces, fmt::format("rebound: {}", rebound.part), "V", rebound.time_s, rebound.volts);
  }
  return traces_csv(traces);
}

std::string rampup_csv(const RampupResult& result) {
  RampRows rows;
  for (const RampPass& pass : result.passes) {
    for (const RampStep& step : pass.steps) {
      if (step.failure.empty()) {
        add_step(rows, pass, step);
      }
    }
  }
  return rows.text();
}

}  // namespace firstglow::sim
