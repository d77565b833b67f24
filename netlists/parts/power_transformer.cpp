// Model: docs/methods/transformer.md.
#include <algorithm>

#include "netlists/parts/assembly.hpp"
#include "netlists/transformer_model.hpp"

namespace firstglow::netlists {
namespace {

/// One ideal winding section on the core node, with its own copper in series.
struct Section {
  DeckNode a, b;
  double ratio;  ///< section emf over primary emf
  double ohm;
};

void add_section(Assembly& assembly, DeckNode core_node, const Section& section, int number) {
  assembly.carries_current(
      assembly.add(WindingElement{section.a, section.b, core_node, section.ratio,
                                  std::max(section.ohm, kLeastOhm)}),
      number);
}

/// The magnetising inductance from the core node to the chassis.
void add_iron(Assembly& assembly, const core::PowerTransformer& transformer,
              const TransformerCore& core, DeckNode core_node) {
  const Situation& situation = assembly.situation();
  if (situation.core_model == CoreModel::linear) {
    assembly.add(InductorElement{core_node, 0, core.magnetising_h, 0.0});
    return;
  }
  const SaturatingCore iron = saturating_core(transformer, assembly.rig().mains().frequency);
  assembly.add(SaturatingCoilElement{core_node, 0, iron.unsaturated_h, iron.air_h, iron.knee_vs,
                                     iron.width_vs,
                                     situation.remanence * kLargestRemanence * iron.rated_flux_vs});
}

}  // namespace

void build(Assembly& assembly, const core::PowerTransformer& transformer) {
  const TransformerCore core = transformer_core(transformer, assembly.rig().mains().frequency);
  const double copper = copper_factor(assembly.situation().winding_rise_k);
  const DeckNode core_node = assembly.new_node();
  add_iron(assembly, transformer, core, core_node);
  assembly.add(ResistorElement{core_node, 0, core.loss_ohm});
  int number = 0;
  const auto add_winding = [&](const core::Winding& winding, double volts_per_emf) {
    DeckNode a = assembly.node(winding.nodes.front());
    for (std::size_t i = 0; i < winding.section_volts.size(); ++i, ++number) {
      const DeckNode b = assembly.node(winding.nodes[i + 1]);
      add_section(assembly, core_node,
                  Section{a, b, winding.section_volts[i].si() / volts_per_emf,
                          copper * winding.section_ohms[i].si()},
                  number);
      a = b;  // shared with the next section, also when it is an insulated tap
    }
  };
  add_winding(transformer.primary, core.primary_v);
  for (const core::Winding& winding : transformer.secondaries) {
    add_winding(winding, core.emf_v);
  }
}

}  // namespace firstglow::netlists
