#include <fmt/format.h>

#include "sim/report/clock_report.hpp"
#include "sim/report/json_document.hpp"
#include "sim/report/traces_csv.hpp"

namespace firstglow::sim {
namespace {

const char* fault_key(ClockFault fault) {
  switch (fault) {
    case ClockFault::intact:
      return "intact";
    case ClockFault::open:
      return "open";
    case ClockFault::drifted:
      return "drifted";
    case ClockFault::low_capacitance:
      break;
  }
  return "low_capacitance";
}

Json fit_json(const ClockFit& fit) {
  const bool failed = !fit.failure.empty();
  return {{"explanation", fit.name},
          {"fault", fault_key(fit.fault)},
          {"part", json_text(fit.part)},
          {"factor", json_number(fit.factor)},
          {"rc_s", failed ? Json(nullptr) : json_number(fit.rc_s)},
          {"off", failed ? Json(nullptr) : json_number(fit.off)},
          {"predicted_v", json_numbers(fit.volts)},
          {"fits", fit.fits},
          {"tie", fit.tie},
          {"can_be_seen", fit.seen},
          {"failure", json_text(fit.failure)}};
}

}  // namespace

std::string clock_json(const core::Rig& rig, const ClockResult& result) {
  Json document = json_head(rig, Topic::clock, clock_verdict(result));
  document["place"] = result.place;
  Json readings = Json::array();
  for (const ClockReading& reading : result.readings) {
    readings.push_back(
        {{"time_s", json_number(reading.time_s)}, {"read_v", json_number(reading.volts)}});
  }
  document["readings"] = readings;
  document["start_predicted"] = result.start_predicted;
  document["rc_s"] = json_number(result.rc_s);
  document["rc_error_s"] = json_number(result.rc_error_s);
  document["intact_rc_s"] = json_band(result.intact_rc_s);
  Json fits = Json::array();
  for (const ClockFit& fit : result.fits) {
    fits.push_back(fit_json(fit));
  }
  document["explanations"] = fits;
  document["findings"] = json_findings(result.findings);
  document["assumptions"] = result.assumptions;
  return json_lines(document);
}

std::string clock_csv(const ClockResult& result) {
  std::string text = "explanation,fits,tie,factor,rc_s,time_s,read_v,predicted_v\r\n";
  for (const ClockFit& fit : result.fits) {
    for (std::size_t k = 0; k < fit.volts.size(); ++k) {
      text += fmt::format("{},{},{},{},{},{},{},{}\r\n", csv_field(fit.name), fit.fits ? 1 : 0,
                          fit.tie ? 1 : 0, fit.factor ? csv_number(*fit.factor) : "",
                          csv_number(fit.rc_s), csv_number(result.readings[k].time_s),
                          csv_number(result.readings[k].volts), csv_number(fit.volts[k]));
    }
  }
  return text;
}

}  // namespace firstglow::sim
