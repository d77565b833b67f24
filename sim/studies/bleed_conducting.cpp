#include "sim/studies/bleed_conducting.hpp"

#include <algorithm>
#include <cmath>

#include "sim/studies/tolerance.hpp"

namespace firstglow::sim {
namespace {

/// Up to so many capacitors every corner of the start box is walked.
constexpr std::size_t kMostWideStarts = 5;
constexpr double kWideVolts = 1e-3;

bool longer(const std::optional<double>& a, const std::optional<double>& b) {
  return b && (!a || *a > *b);
}

/// Corners of the box of starts; of a large box the two ends and each capacitor turned by itself.
std::vector<std::vector<double>> starts_of(const BleedModel& model) {
  const std::size_t states = model.network.capacitors.size() + model.network.inductors.size();
  std::vector<double> low(states, 0.0), high(states, 0.0);
  std::vector<std::size_t> wide;
  for (std::size_t k = 0; k < model.network.capacitors.size(); ++k) {
    const auto range = model.start.find(model.network.capacitors[k].part);
    if (range != model.start.end()) {
      low[k] = range->second.low_v;
      high[k] = range->second.high_v;
    }
    if (high[k] - low[k] > kWideVolts) {
      wide.push_back(k);
    }
  }
  std::vector<std::vector<double>> starts;
  if (wide.size() <= kMostWideStarts) {
    for (std::size_t bits = 0; bits < (std::size_t{1} << wide.size()); ++bits) {
      starts.push_back(low);
      for (std::size_t i = 0; i < wide.size(); ++i) {
        starts.back()[wide[i]] = ((bits >> i) & 1U) != 0 ? high[wide[i]] : low[wide[i]];
      }
    }
    return starts;
  }
  starts = {low, high};
  for (const std::size_t k : wide) {
    starts.push_back(low);
    starts.back()[k] = high[k];
    starts.push_back(high);
    starts.back()[k] = low[k];
  }
  return starts;
}

class ConductingSearch {
 public:
  ConductingSearch(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                   BleedStart from)
      : circuit_(circuit), lifted_(lifted), from_(from) {}

  std::optional<std::map<int, ConductingTimes>> run() {
    if (from_ == BleedStart::nominal) {
      look_at({});
    } else {
      const std::vector<std::string> parts =
          toleranced_parts(circuit_.rig, netlists::Stage::tubes_out);
      std::vector<std::vector<double>> figures;
      for (const Corner& corner : single_corners(parts)) {
        figures.push_back(look_at(corner));
        if (!answered_) {
          return std::nullopt;
        }
      }
      for (const Corner& corner : worst_corners(Sensitivity(parts, std::move(figures)))) {
        look_at(corner);
      }
    }
    return answered_ ? std::optional(std::move(found_)) : std::nullopt;
  }

 private:
  /// Time of each capacitor for each limit, with a large number for "never".
  std::vector<double> look_at(const Corner& corner) {
    const BleedModel model = bleed_model(circuit_, lifted_, corner, from_);
    const std::size_t limits = circuit_.limits.size();
    std::vector<double> figures(model.network.capacitors.size() * limits, 0.0);
    DiodeDischarge discharge(model.network);
    for (const std::vector<double>& start : starts_of(model)) {
      const auto walk = discharge.walk(start);
      if (!walk) {
        answered_ = false;
        return figures;
      }
      for (std::size_t k = 0; k < model.network.capacitors.size(); ++k) {
        const LinearBranch& capacitor = model.network.capacitors[k];
        ConductingTimes& worst = found_[capacitor.part];
        worst.time_s.resize(limits, 0.0);
        for (std::size_t i = 0; i < limits; ++i) {
          const auto time_s = time_of(*walk, k, circuit_.limits[i], capacitor);
          double& figure = figures[k * limits + i];
          figure = std::max(figure, time_s.value_or(kForeverSeconds));
          if (i == 0 && (worst.walk.time_s.empty() || longer(time_s, worst.time_s[0]))) {
            worst.corner = corner;
            worst.start = start;
            worst.walk = *walk;
            worst.state = k;
          }
          worst.time_s[i] = longer(time_s, worst.time_s[i]) ? time_s : worst.time_s[i];
        }
      }
    }
    return figures;
  }

  [[nodiscard]] std::optional<double> time_of(const DiodeWalk& walk, std::size_t state,
                                              const BleedLimit& limit,
                                              const LinearBranch& capacitor) const {
    const double limit_v = limit_volts(circuit_, limit, capacitor, from_);
    const bool guarded = from_ == BleedStart::box;
    auto time_s = walk.last_above(state, guarded ? kGuardVolts * limit_v : limit_v);
    if (guarded && time_s) {
      *time_s *= kGuardTime;
    }
    return time_s;
  }

  const BleedCircuit& circuit_;
  const std::set<std::string>& lifted_;
  BleedStart from_;
  std::map<int, ConductingTimes> found_;
  bool answered_ = true;
};

}  // namespace

std::optional<std::map<int, ConductingTimes>> conducting_times(const BleedCircuit& circuit,
                                                               const std::set<std::string>& lifted,
                                                               BleedStart from) {
  return ConductingSearch(circuit, lifted, from).run();
}

}  // namespace firstglow::sim
