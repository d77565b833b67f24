#include "sim/studies/warm_up.hpp"

namespace firstglow::sim {

double rectifier_warm_up_s(const core::Rig& /*rig*/) { return 0.0; }

std::optional<double> slowest_load_s(const core::Rig& /*rig*/) { return std::nullopt; }

}  // namespace firstglow::sim
