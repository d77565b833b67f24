#include "sim/studies/bleed_islands.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/error.hpp"
#include "netlists/deck_builder.hpp"
#include "netlists/node_groups.hpp"

namespace firstglow::sim {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

netlists::BuiltDeck deck_at_corner(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                                   const Corner& corner) {
  netlists::Situation situation;
  situation.stage = netlists::Stage::tubes_out;
  situation.mains_on = false;
  situation.lifted = lifted;
  situation.corner = corner;
  return netlists::build_deck(circuit.rig, situation);
}

/// Puts the meter across its capacitor, unless that one is not in the circuit.
void add_meter(const BleedCircuit& circuit, const std::set<std::string>& lifted,
               LinearNetwork& network) {
  const int part = *circuit.metered;
  const netlists::BuiltDeck built = deck_at_corner(circuit, lifted, {});
  if (!built.part_in[at(part)]) {
    return;
  }
  const auto& capacitor = std::get<core::Capacitor>(circuit.rig.parts[at(part)].data);
  const auto& plus = built.node_of[at(capacitor.plus)];
  const auto& minus = built.node_of[at(capacitor.minus)];
  if (plus && minus) {
    network.resistors.push_back(
        LinearBranch{network.node_of[at(*plus)], network.node_of[at(*minus)], kLeftMeterOhm, -1});
  }
}

LinearNetwork network_at(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                         const Corner& corner) {
  LinearNetwork network = network_at_corner(circuit, lifted, corner);
  if (circuit.metered) {
    add_meter(circuit, lifted, network);
  }
  return network;
}

/// Gives the branches of a part the values that they have in another network of the same shape.
void take_values(int part, const LinearNetwork& from, LinearNetwork& to) {
  const auto take = [part](const std::vector<LinearBranch>& there,
                           std::vector<LinearBranch>& here) {
    FIRSTGLOW_REQUIRE(there.size() == here.size(), "a tolerance moves values, not branches");
    for (std::size_t i = 0; i < here.size(); ++i) {
      if (here[i].part == part) {
        here[i].value = there[i].value;
      }
    }
  };
  take(from.resistors, to.resistors);
  take(from.capacitors, to.capacitors);
  take(from.inductors, to.inductors);
}

/// The branches of one island; nodes keep their numbers.
LinearNetwork island_of(const LinearNetwork& network, const std::vector<int>& island, int root) {
  LinearNetwork part = network;
  part.diodes.clear();
  const auto elsewhere = [&](const LinearBranch& branch) {
    return island[at(branch.a == 0 ? branch.b : branch.a)] != root;
  };
  std::erase_if(part.resistors, elsewhere);
  std::erase_if(part.capacitors, elsewhere);
  std::erase_if(part.inductors, elsewhere);
  // nodes of other islands would only make the matrices larger
  std::vector<int> number(at(network.node_count), -1);
  number[0] = 0;
  part.node_count = 1;
  for (auto* list : {&part.resistors, &part.capacitors, &part.inductors}) {
    for (LinearBranch& branch : *list) {
      for (int* node : {&branch.a, &branch.b}) {
        int& known = number[at(*node)];
        known = known < 0 ? part.node_count++ : known;
        *node = known;
      }
    }
  }
  return part;
}

/// The ranges at the start of the capacitors of a network that hangs together.
StartBox starts_of(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                   BleedStart from, const std::vector<LinearBranch>& capacitors) {
  std::set<int> parts;
  for (const LinearBranch& capacitor : capacitors) {
    parts.insert(capacitor.part);
  }
  const std::scoped_lock lock(circuit.boxes->mutex);
  const auto [place, fresh] = circuit.boxes->known.try_emplace({from, lifted, parts});
  if (fresh) {
    place->second = from == BleedStart::box ? start_box(circuit.rig, circuit.moments, parts, lifted)
                                            : fullest_moment(circuit.rig, circuit.nominal, parts);
  }
  return place->second;
}

LinearDischarge::Course course_of(const LinearNetwork& network, const StartBox& box,
                                  BleedStart from) {
  std::vector<double> low, high;
  for (const LinearBranch& capacitor : network.capacitors) {
    const auto found = box.find(capacitor.part);
    const StartRange range = found == box.end() ? StartRange{} : found->second;
    low.push_back(range.low_v);
    high.push_back(range.high_v);
  }
  low.resize(network.capacitors.size() + network.inductors.size(), 0.0);
  high.resize(low.size(), 0.0);
  const LinearDischarge discharge(network);
  return from == BleedStart::box ? discharge.from_box(low, high) : discharge.from(low);
}

/// Is the first time longer? Never is longest.
bool longer(const std::optional<double>& a, const std::optional<double>& b) {
  return b && (!a || *a > *b);
}

/// One island with its tolerance corners.
class IslandSearch {
 public:
  IslandSearch(const BleedCircuit& circuit, const std::set<std::string>& lifted, BleedStart from,
               int root, const LinearNetwork& nominal)
      : circuit_(circuit),
        lifted_(lifted),
        from_(from),
        root_(root),
        box_(starts_of(circuit, lifted, from, nominal.capacitors)) {
    for (const auto* list : {&nominal.resistors, &nominal.capacitors, &nominal.inductors}) {
      for (const LinearBranch& branch : *list) {
        result_.parts.insert(branch.part);
      }
    }
    result_.parts.erase(-1);
    for (const std::string& name : toleranced_parts(circuit.rig, netlists::Stage::tubes_out)) {
      const auto index = circuit.rig.find(name) - circuit.rig.parts.data();
      if (result_.parts.contains(static_cast<int>(index))) {
        toleranced_.push_back(name);
      }
    }
    look_at({});
  }

  BleedIsland with_corners() {
    // a meter is one more path for one capacitor: its worst corner is that of its own parts
    if (toleranced_.size() <= kMostExhaustiveParts && !circuit_.metered) {
      for (std::size_t bits = 0; bits < (std::size_t{1} << toleranced_.size()); ++bits) {
        Corner corner;
        for (std::size_t i = 0; i < toleranced_.size(); ++i) {
          corner[toleranced_[i]] = ((bits >> i) & 1U) != 0 ? 1.0 : -1.0;
        }
        look_at(corner);
      }
    } else {
      look_at_signs();
    }
    return result_;
  }
  BleedIsland nominal() { return result_; }

 private:
  /// Time of each capacitor for each limit, with a large number for "never".
  std::vector<double> look_at(const Corner& corner) {
    const LinearNetwork whole = network_at(circuit_, lifted_, corner);
    const LinearNetwork network = island_of(whole, islands_of(whole, true, false), root_);
    guarded_ =
        from_ == BleedStart::box && (network.capacitors.size() > 1 || !network.inductors.empty());
    const auto course = course_of(network, box_, from_);
    std::vector<double> figures;
    for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
      merge(course, k, network.capacitors[k], corner, figures);
    }
    return figures;
  }

  [[nodiscard]] std::vector<std::optional<double>> times_of(const LinearDischarge::Course& course,
                                                            std::size_t state,
                                                            const LinearBranch& capacitor) const {
    std::vector<double> limits_v;
    for (const BleedLimit& limit : circuit_.limits) {
      limits_v.push_back((guarded_ ? kGuardVolts : 1.0) *
                         limit_volts(circuit_, limit, capacitor, from_));
    }
    std::vector<std::optional<double>> times_s = course.last_above(state, limits_v);
    for (std::optional<double>& time_s : times_s) {
      if (guarded_ && time_s) {
        *time_s *= kGuardTime;
      }
    }
    return times_s;
  }

  void merge(const LinearDischarge::Course& course, std::size_t state,
             const LinearBranch& capacitor, const Corner& corner, std::vector<double>& figures) {
    const auto [place, fresh] = result_.capacitors.try_emplace(capacitor.part);
    CapacitorCourse& worst = place->second;
    const std::vector<std::optional<double>> times_s = times_of(course, state, capacitor);
    for (std::size_t i = 0; i < times_s.size(); ++i) {
      const std::optional<double>& time_s = times_s[i];
      figures.push_back(time_s.value_or(kForeverSeconds));
      if (fresh) {
        worst.time_s.push_back(time_s);
      }
      if (i == 0 && (fresh || longer(time_s, worst.time_s[0]))) {
        worst.corner = corner;
        worst.capacitance_f = capacitor.value;
      }
      if (longer(time_s, worst.time_s[i])) {
        worst.time_s[i] = time_s;
      }
    }
  }

  void look_at_signs() {
    std::vector<std::vector<double>> figures;
    for (const Corner& corner : single_corners(toleranced_)) {
      figures.push_back(look_at(corner));
    }
    for (const Corner& corner : worst_corners(Sensitivity(toleranced_, std::move(figures)))) {
      look_at(corner);
    }
  }

  const BleedCircuit& circuit_;
  const std::set<std::string>& lifted_;
  BleedStart from_;
  int root_;
  StartBox box_;
  std::vector<std::string> toleranced_;
  bool guarded_ = false;
  BleedIsland result_;
};

}  // namespace

LinearNetwork network_at_corner(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                                const Corner& corner) {
  const auto known = [&](const Corner& wanted) -> const LinearNetwork& {
    const auto [place, fresh] = circuit.networks->known.try_emplace({lifted, wanted});
    if (fresh) {
      place->second = linear_network(deck_at_corner(circuit, lifted, wanted));
    }
    return place->second;
  };
  const std::scoped_lock lock(circuit.networks->mutex);
  LinearNetwork network = known({});
  for (const auto& [name, end] : corner) {
    const auto part = static_cast<int>(circuit.rig.find(name) - circuit.rig.parts.data());
    take_values(part, known({{name, end}}), network);
  }
  return network;
}

double limit_volts(const BleedCircuit& circuit, const BleedLimit& limit,
                   const LinearBranch& capacitor, BleedStart from) {
  const auto& data = circuit.rig.parts[at(capacitor.part)].data;
  return limit.volts_for(from == BleedStart::nominal
                             ? capacitor.value
                             : std::get<core::Capacitor>(data).value.high().si());
}

std::vector<BleedIsland> bleed_islands(const BleedCircuit& circuit,
                                       const std::set<std::string>& lifted, BleedStart from) {
  const LinearNetwork nominal = network_at(circuit, lifted, {});
  const std::vector<int> island = islands_of(nominal, true, false);
  std::set<int> roots;
  for (const LinearBranch& capacitor : nominal.capacitors) {
    if (circuit.metered && capacitor.part != *circuit.metered) {
      continue;
    }
    roots.insert(island[at(capacitor.a == 0 ? capacitor.b : capacitor.a)]);
  }
  std::vector<BleedIsland> found;
  for (const int root : roots) {
    IslandSearch search(circuit, lifted, from, root, island_of(nominal, island, root));
    found.push_back(from == BleedStart::box ? search.with_corners() : search.nominal());
  }
  return found;
}

std::optional<std::size_t> BleedModel::state_of(int part) const {
  for (std::size_t k = 0; k < network.capacitors.size(); ++k) {
    if (network.capacitors[k].part == part) {
      return k;
    }
  }
  return std::nullopt;
}

int BleedModel::joined_of(const LinearBranch& branch) const {
  return joined[at(branch.a == 0 ? branch.b : branch.a)];
}

LinearDischarge::Course BleedModel::course(BleedStart from) const {
  return course_of(network, start, from);
}

LinearDischarge::Course BleedModel::joined_course(BleedStart from) const {
  return course_of(network, joined_start, from);
}

namespace {

/// Islands with those as one that a diode joins.
std::vector<int> islands_through_diodes(const LinearNetwork& network) {
  const std::vector<int> island = islands_of(network, true, false);
  netlists::NodeGroups groups(island.size());
  for (std::size_t node = 0; node < island.size(); ++node) {
    groups.join(node, at(island[node]));
  }
  for (const LinearDiode& diode : network.diodes) {
    if (diode.anode != 0 && diode.cathode != 0) {
      groups.join(at(diode.anode), at(diode.cathode));
    }
  }
  std::vector<int> joined;
  for (std::size_t node = 0; node < island.size(); ++node) {
    joined.push_back(static_cast<int>(groups.root(node)));
  }
  return joined;
}

}  // namespace

BleedModel bleed_model(const BleedCircuit& circuit, const std::set<std::string>& lifted,
                       const Corner& corner, BleedStart from) {
  const LinearNetwork network = network_at(circuit, lifted, corner);
  const auto starts = [&](const std::vector<int>& island) {
    std::map<int, std::vector<LinearBranch>> by_island;
    for (const LinearBranch& capacitor : network.capacitors) {
      by_island[island[at(capacitor.a == 0 ? capacitor.b : capacitor.a)]].push_back(capacitor);
    }
    StartBox box;
    for (const auto& [root, capacitors] : by_island) {
      box.merge(starts_of(circuit, lifted, from, capacitors));
    }
    return box;
  };
  StartBox own = starts(islands_of(network, true, false));
  std::vector<int> through = islands_through_diodes(network);
  StartBox joined = from == BleedStart::box ? starts(through) : own;
  return BleedModel{network, std::move(own), std::move(joined), std::move(through)};
}

}  // namespace firstglow::sim
