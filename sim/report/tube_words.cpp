#include "sim/report/tube_words.hpp"

#include <fmt/format.h>

#include "sim/report/numbers.hpp"

namespace firstglow::sim {
namespace {

template <class Q>
std::string rated(const char* name, const std::optional<Q>& value, const char* unit) {
  return value ? fmt::format("{} {}", name, with_unit(value->si(), unit))
               : fmt::format("{} not known", name);
}

const char* key_words(core::TubeKey key) {
  switch (key) {
    case core::TubeKey::cathode:
      return "keyed in the cathode: key up opens it";
    case core::TubeKey::screen:
      return "keyed in the screen: key up puts it to the cathode";
    case core::TubeKey::none:
      break;
  }
  return "not keyed: draws what its grid volts let it";
}

std::string driven_words(const core::PowerTube& tube) {
  if (!tube.driven) {
    return "at key down: not driven, follows its grid volts";
  }
  const core::DrivenPoint& point = *tube.driven;
  std::string text =
      fmt::format("at key down, each: plate {} at {}", with_unit(point.plate_current.si(), "A"),
                  with_unit(point.plate.si(), "V"));
  if (!tube.triode) {
    text += fmt::format(", screen {} at {}", with_unit(point.screen_current.si(), "A"),
                        with_unit(point.screen.si(), "V"));
  }
  return text + fmt::format(", grid {}", with_unit(point.grid_current.si(), "A"));
}

}  // namespace

PartWords tube_words(const core::Rig& rig, const core::VrTube& tube) {
  return {"vr tube",
          fmt::format("plus {}, minus {}", rig.node_name(tube.plus), rig.node_name(tube.minus)),
          {fmt::format("runs at {}, {} more over its window", with_unit(tube.run.si(), "V"),
                       with_unit(tube.regulation.si(), "V")),
           fmt::format("window {} to {}; struck for certain at {}", with_unit(tube.least.si(), "A"),
                       with_unit(tube.most.si(), "A"), with_unit(tube.strike.si(), "V"))}};
}

PartWords tube_words(const core::Rig& rig, const core::PowerTube& tube) {
  const auto name = [&](core::NodeIndex node) { return rig.node_name(node); };
  PartWords words{tube.count > 1 ? fmt::format("{} power tubes in parallel", tube.count)
                                 : std::string("power tube"),
                  fmt::format("plate {}, screen {}, grid {}, cathode {}", name(tube.plate),
                              name(tube.screen), name(tube.grid), name(tube.cathode)),
                  {key_words(tube.key), driven_words(tube)}};
  words.lines.push_back(fmt::format("each: {}, {}", rated("plate", tube.ratings.plate_volts, "V"),
                                    rated("dissipation", tube.ratings.plate_watts, "W")));
  if (!tube.triode) {
    words.lines.push_back(fmt::format("each: {}, {}",
                                      rated("screen", tube.ratings.screen_volts, "V"),
                                      rated("dissipation", tube.ratings.screen_watts, "W")));
  }
  words.lines.push_back("ratings: " + tube.ratings_source);
  return words;
}

}  // namespace firstglow::sim
