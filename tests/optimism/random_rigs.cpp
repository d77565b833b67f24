#include "tests/optimism/random_rigs.hpp"

#include <cmath>
#include <filesystem>

#include "core/rig_reader.hpp"
#include "netlists/situation.hpp"
#include "sim/studies/bleed_cases.hpp"
#include "sim/studies/drift.hpp"
#include "sim/studies/tolerance.hpp"

namespace firstglow::test {
namespace {

constexpr double kLargestTolerance = 0.5;
constexpr double kValueFactor = 3.0;
constexpr double kLargestDrift = 0.5;

}  // namespace

RandomRigs::RandomRigs(unsigned seed) : random_(seed) {
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::directory_iterator(FIRSTGLOW_SOURCE_DIR "/scenarios")) {
    files.push_back((entry.path() / "rig.yaml").string());
  }
  std::sort(files.begin(), files.end());
  for (const std::string& file : files) {
    scenarios_.push_back(core::read_rig_file(file));
  }
}

double RandomRigs::between(double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(random_);
}

void RandomRigs::set_values(core::Rig& rig) {
  // one rig in eight has a tolerance on every part, the others on about a third of them
  const double share = between(0.0, 1.0) < 0.125 ? 1.0 : 0.35;
  const auto set = [&](auto& value) {
    const double factor = std::exp(between(-std::log(kValueFactor), std::log(kValueFactor)));
    value.marked = value.nominal() * factor;
    value.measured.reset();
    const bool loose = between(0.0, 1.0) < share;
    value.tolerance.minus = loose ? between(0.0, kLargestTolerance) : 0.0;
    value.tolerance.plus = loose ? between(0.0, kLargestTolerance) : 0.0;
  };
  for (core::Part& part : rig.parts) {
    if (auto* resistor = std::get_if<core::Resistor>(&part.data)) {
      set(resistor->value);
    } else if (auto* capacitor = std::get_if<core::Capacitor>(&part.data)) {
      set(capacitor->value);
    } else if (auto* choke = std::get_if<core::Choke>(&part.data);
               choke != nullptr && !choke->loaded_inductance) {
      set(choke->value);  // a swinging choke needs its two points in order and keeps them
    }
  }
}

std::vector<sim::ChargeMoment> RandomRigs::draw_moments(const core::Rig& rig) {
  std::map<int, double> volts;
  for (std::size_t i = 0; i < rig.parts.size(); ++i) {
    if (std::holds_alternative<core::Capacitor>(rig.parts[i].data)) {
      volts[static_cast<int>(i)] = std::exp(between(std::log(20.0), std::log(2000.0)));
    }
  }
  std::vector<sim::ChargeMoment> moments(1 + random_() % 4);
  for (sim::ChargeMoment& moment : moments) {
    for (const auto& [part, most_v] : volts) {
      moment[part] = most_v * between(0.4, 1.0);
    }
  }
  return moments;
}

RandomRig RandomRigs::next() {
  const core::Rig& scenario = scenarios_[random_() % scenarios_.size()];
  RandomRig drawn;
  drawn.scenario = scenario.name;
  core::Rig rig = scenario;
  set_values(rig);
  drawn.rig = sim::with_drift(rig, random_() % 3 == 0 ? between(0.0, kLargestDrift) : 0.0).rig;
  drawn.moments = draw_moments(drawn.rig);
  if (random_() % 3 != 0) {
    const std::vector<std::string> paths = sim::discharge_paths(drawn.rig);
    drawn.open_part = paths[random_() % paths.size()];
  }
  return drawn;
}

std::map<std::string, double> draw_corner(const core::Rig& rig, std::mt19937& random) {
  std::uniform_real_distribution<double> anywhere(-1.0, 1.0);
  const bool corners = random() % 2 == 0;
  std::map<std::string, double> corner;
  for (const std::string& part : sim::toleranced_parts(rig, netlists::Stage::tubes_out)) {
    const double place = anywhere(random);
    corner[part] = corners ? std::copysign(1.0, place) : place;
  }
  return corner;
}

}  // namespace firstglow::test
