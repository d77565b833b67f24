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
  std::vector<double> look_at(const Corner& corner) {
    const BleedModel model = bleed_model(circuit_, lifted_, corner, from_);
    std::vector<double> figures(model.network.capacitors.size(), 0.0);
    DiodeDischarge discharge(model.network);
    for (const std::vector<double>& start : starts_of(model)) {
      const auto walk = discharge.walk(start);
      if (!walk) {
        answered_ = false;
        return figures;
      }
      for (std::size_t k = 0; k < figures.size(); ++k) {
        figures[k] =
            std::max(figures[k], merge(*walk, k, model.network.capacitors[k], corner, start));
      }
    }
    return figures;
  }

  double merge(const DiodeWalk& walk, std::size_t state, const LinearBranch& capacitor,
               const Corner& corner, const std::vector<double>& start) {
    const auto [place, fresh] = found_.try_emplace(capacitor.part);
    ConductingTimes& worst = place->second;
    double figure = 0.0;
    for (std::size_t i = 0; i < circuit_.limits.size(); ++i) {
      const auto time_s = walk.last_above(state, circuit_.limits[i].volts_for(capacitor.value));
      const bool more = fresh || longer(time_s, worst.time_s[i]);
      if (fresh) {
        worst.time_s.push_back(time_s);
      } else if (more) {
        worst.time_s[i] = time_s;
      }
      if (i == 0) {
        figure = time_s.value_or(kForeverSeconds);
        if (more) {
          worst.corner = corner;
          worst.start = start;
          worst.walk = walk;
          worst.state = state;
        }
      }
    }
    return figure;
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
