#pragma once
/// @file
/// How is a circuit written by hand in gnucap's own words, from the equations of docs/methods?
///
/// gnucap [GNUCAP] has no free expressions; a law becomes points that its FIT joins by a cubic
/// spline, and a product becomes a conductance set by other volts (VCG). Nothing here looks at our
/// typed elements or at our SPICE text.

#include <functional>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "tests/published/gnucap_process.hpp"

namespace firstglow::published {

/// x, y with x rising.
using FitPoints = std::vector<std::pair<double, double>>;

/// The function at `count` even steps from `low` to `high`.
[[nodiscard]] FitPoints even_points(const std::function<double(double)>& y, double low, double high,
                                    int count);
/// The same, but with steps of about `fine` at zero that grow from there on either side.
[[nodiscard]] FitPoints points_dense_at_zero(const std::function<double(double)>& y, double low,
                                             double high, double fine, int count);

/// Electrodes of a grid-controlled tube, by node name; `screen` is empty in a triode.
struct GnucapTube {
  std::string name, plate, screen, grid, cathode;
};

class GnucapCircuit {
 public:
  /// Lines as they are, each ended by a newline.
  GnucapCircuit& lines(const std::string& text);
  /// A sine of 60 Hz from `low_end` to the inner end of `ohm`; a negative peak turns it round.
  GnucapCircuit& winding(const std::string& name, const std::string& low_end,
                         const std::string& end, double peak_v, double ohm);
  GnucapCircuit& resistor(const std::string& name, const std::string& a, const std::string& b,
                          double ohm);
  /// A capacitor with its series resistance, started at `start_v`.
  GnucapCircuit& capacitor(const std::string& name, const std::string& plus,
                           const std::string& minus, double farad, double start_v,
                           double esr_ohm = 1.0);
  GnucapCircuit& direct_volts(const std::string& name, const std::string& plus,
                              const std::string& minus, double volts);
  GnucapCircuit& diode(const std::string& name, const std::string& anode,
                       const std::string& cathode, double saturation_a, double emission,
                       double series_ohm);
  /// 10 kohm and 2 nF: without, gnucap does not come to an end with a choke behind a diode.
  GnucapCircuit& snubber(const std::string& name, const std::string& a, const std::string& b);
  /// gnucap's own inductor, its flux [Vs] a function of its current [A].
  GnucapCircuit& coil(const std::string& name, const std::string& a, const std::string& b,
                      const FitPoints& flux_of_amps, double start_a);
  /// Current from `a` to `b` as a function of the volts of `plus` against `minus`.
  GnucapCircuit& current_by_volts(const std::string& name, const std::string& a,
                                  const std::string& b, const std::string& plus,
                                  const std::string& minus, const FitPoints& amps_of_volts);
  /// A conductance from `a` to `b` as a function of those volts.
  GnucapCircuit& conductance_by_volts(const std::string& name, const std::string& a,
                                      const std::string& b, const std::string& plus,
                                      const std::string& minus, const FitPoints& siemens_of_volts);
  /// A tetrode or pentode: docs/methods/power_tubes.md. `space_a_of_x` is the whole current as a
  /// function of x = v_grid + v_screen / mu + offset; `plate_share` a function of the plate volts.
  GnucapCircuit& pentode(const GnucapTube& tube, double mu, double offset_v,
                         const FitPoints& space_a_of_x, const FitPoints& plate_share);
  /// Only the screen of such a tube, its grid on its cathode: the driven tube of the same page.
  GnucapCircuit& driven_screen(const GnucapTube& tube, const FitPoints& space_a_of_screen_v,
                               const FitPoints& plate_share);
  GnucapCircuit& triode(const GnucapTube& tube, double mu, double offset_v,
                        const FitPoints& space_a_of_x);

  /// Figures of the last mains cycle before `stop_s`.
  [[nodiscard]] std::vector<GnucapFigures> figures(const std::vector<std::string>& nodes,
                                                   double stop_s, int steps_per_cycle = 200) const;

 private:
  std::ostringstream& begin(const std::string& first, const std::string& a, const std::string& b);
  void put(const FitPoints& points, int order);
  void put_share(const GnucapTube& tube, bool on_plate, const FitPoints& space_a_of_x,
                 const FitPoints& plate_share);
  void put_x(const GnucapTube& tube, const std::string& control, double mu, double offset_v);

  std::ostringstream text_;
};

}  // namespace firstglow::published
