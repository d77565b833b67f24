#include "tests/published/gnucap_circuit.hpp"

#include <cmath>

namespace firstglow::published {
namespace {

constexpr double kHertz = 60.0;
constexpr int kCubic = 3;
constexpr std::size_t kPointsALine = 20;

}  // namespace

FitPoints even_points(const std::function<double(double)>& y, double low, double high, int count) {
  FitPoints points;
  for (int i = 0; i <= count; ++i) {
    const double x = low + (high - low) * i / count;
    points.emplace_back(x, y(x));
  }
  return points;
}

FitPoints points_dense_at_zero(const std::function<double(double)>& y, double low, double high,
                               double fine, int count) {
  const double scale = fine * count / 10.0;
  FitPoints points = even_points([&](double u) { return y(scale * std::sinh(u)); },
                                 std::asinh(low / scale), std::asinh(high / scale), count);
  for (auto& point : points) {
    point.first = scale * std::sinh(point.first);
  }
  return points;
}

std::ostringstream& GnucapCircuit::begin(const std::string& first, const std::string& a,
                                         const std::string& b) {
  text_.precision(10);
  text_ << first << " " << a << " " << b << " ";
  return text_;
}

// On continued lines: gnucap takes a line of more than 4096 bytes apart without a word.
void GnucapCircuit::put(const FitPoints& points, int order) {
  text_ << " fit(";
  for (std::size_t i = 0; i < points.size(); ++i) {
    text_ << (i % kPointsALine == 0 ? "\n+ " : " ") << points[i].first << "," << points[i].second;
  }
  text_ << "\n+ ) order=" << order;
}

GnucapCircuit& GnucapCircuit::lines(const std::string& text) {
  text_ << text;
  return *this;
}

GnucapCircuit& GnucapCircuit::winding(const std::string& name, const std::string& low_end,
                                      const std::string& end, double peak_v, double ohm) {
  begin("V" + name, "emf" + name, low_end)
      << "sin( offset=0 amplitude=" << peak_v << " frequency=" << kHertz << " )\n";
  return resistor("W" + name, "emf" + name, end, ohm);
}

GnucapCircuit& GnucapCircuit::resistor(const std::string& name, const std::string& a,
                                       const std::string& b, double ohm) {
  begin("R" + name, a, b) << ohm << "\n";
  return *this;
}

GnucapCircuit& GnucapCircuit::capacitor(const std::string& name, const std::string& plus,
                                        const std::string& minus, double farad, double start_v,
                                        double esr_ohm) {
  resistor("E" + name, plus, "foil" + name, esr_ohm);
  begin("C" + name, "foil" + name, minus) << farad << " ic=" << start_v << "\n";
  return *this;
}

GnucapCircuit& GnucapCircuit::direct_volts(const std::string& name, const std::string& plus,
                                           const std::string& minus, double volts) {
  begin("V" + name, plus, minus) << "dc " << volts << "\n";
  return *this;
}

GnucapCircuit& GnucapCircuit::diode(const std::string& name, const std::string& anode,
                                    const std::string& cathode, double saturation_a,
                                    double emission, double series_ohm) {
  begin("D" + name, anode, cathode) << "M" << name << "\n";
  text_ << ".model M" << name << " D( is=" << saturation_a << " n=" << emission
        << " rs=" << series_ohm << " cjo=0 tt=0 )\n";
  return *this;
}

GnucapCircuit& GnucapCircuit::snubber(const std::string& name, const std::string& a,
                                      const std::string& b) {
  return capacitor(name, a, b, 2e-9, 0.0, 10e3);
}

GnucapCircuit& GnucapCircuit::coil(const std::string& name, const std::string& a,
                                   const std::string& b, const FitPoints& flux_of_amps,
                                   double start_a) {
  begin("L" + name, a, b);
  put(flux_of_amps, kCubic);
  text_ << " ic=" << start_a << "\n";
  return *this;
}

GnucapCircuit& GnucapCircuit::current_by_volts(const std::string& name, const std::string& a,
                                               const std::string& b, const std::string& plus,
                                               const std::string& minus,
                                               const FitPoints& amps_of_volts) {
  begin("G" + name, a, b) << plus << " " << minus;
  put(amps_of_volts, kCubic);
  text_ << "\n";
  return *this;
}

GnucapCircuit& GnucapCircuit::conductance_by_volts(const std::string& name, const std::string& a,
                                                   const std::string& b, const std::string& plus,
                                                   const std::string& minus,
                                                   const FitPoints& siemens_of_volts) {
  begin(".vcg Y" + name, a, b) << plus << " " << minus;
  put(siemens_of_volts, kCubic);
  text_ << "\n";
  return *this;
}

/// Node "x" + name: v_grid + v_control / mu + offset, against the chassis.
void GnucapCircuit::put_x(const GnucapTube& tube, const std::string& control, double mu,
                          double offset_v) {
  const std::string& n = tube.name;
  begin("E" + n + "g", "xg" + n, "0") << tube.grid << " " << tube.cathode << " 1\n";
  begin("E" + n + "s", "xs" + n, "xg" + n)
      << control << " " << tube.cathode << " " << 1.0 / mu << "\n";
  direct_volts(n + "x", "x" + n, "xs" + n, offset_v);
}

// The whole current times a share: a conductance of so many siemens as the current has amperes,
// across so many volts as the share is, metered and mirrored into the electrode.
void GnucapCircuit::put_share(const GnucapTube& tube, bool on_plate, const FitPoints& space_a_of_x,
                              const FitPoints& plate_share) {
  FitPoints share = plate_share;
  for (auto& point : share) {
    point.second = on_plate ? point.second : 1.0 - point.second;
  }
  const std::string n = tube.name + (on_plate ? "p" : "s");
  begin("E" + n + "q", "q" + n, "0") << tube.plate << " " << tube.cathode;
  put(share, kCubic);
  text_ << "\n";
  direct_volts("m" + n, "q" + n, "m" + n, 0.0);
  conductance_by_volts(n, "m" + n, "0", "x" + tube.name, "0", space_a_of_x);
  begin("F" + n, on_plate ? tube.plate : tube.screen, tube.cathode) << "Vm" << n << " 1\n";
}

GnucapCircuit& GnucapCircuit::pentode(const GnucapTube& tube, double mu, double offset_v,
                                      const FitPoints& space_a_of_x, const FitPoints& plate_share) {
  put_x(tube, tube.screen, mu, offset_v);
  put_share(tube, true, space_a_of_x, plate_share);
  put_share(tube, false, space_a_of_x, plate_share);
  return *this;
}

GnucapCircuit& GnucapCircuit::driven_screen(const GnucapTube& tube,
                                            const FitPoints& space_a_of_screen_v,
                                            const FitPoints& plate_share) {
  put_x(tube, tube.screen, 1.0, 0.0);
  put_share(tube, false, space_a_of_screen_v, plate_share);
  return *this;
}

GnucapCircuit& GnucapCircuit::triode(const GnucapTube& tube, double mu, double offset_v,
                                     const FitPoints& space_a_of_x) {
  put_x(tube, tube.plate, mu, offset_v);
  return current_by_volts(tube.name, tube.plate, tube.cathode, "x" + tube.name, "0", space_a_of_x);
}

std::vector<GnucapFigures> GnucapCircuit::figures(const std::vector<std::string>& nodes,
                                                  double stop_s, int steps_per_cycle) const {
  GnucapSpan span{stop_s, 1.0 / kHertz / steps_per_cycle, 1.0 / kHertz, {}};
  for (const std::string& node : nodes) {
    span.probes.push_back("v(" + node + ")");
  }
  return gnucap_figures(text_.str(), span);
}

}  // namespace firstglow::published
