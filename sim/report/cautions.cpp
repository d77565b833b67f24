#include "sim/report/cautions.hpp"

#include <fmt/format.h>

namespace firstglow::sim {

const char* topic_command(Topic topic) {
  switch (topic) {
    case Topic::check:
      return "check";
    case Topic::rampup:
      return "rampup";
    case Topic::course:
      return "course";
    case Topic::margins:
      return "margins";
    case Topic::bleed:
      return "bleed";
    case Topic::inrush:
      return "inrush";
    case Topic::swap:
      return "swap";
    case Topic::drawer:
      return "drawer";
    case Topic::lines:
      return "lines";
    case Topic::spread:
      return "spread";
    case Topic::stick:
      return "stick";
    case Topic::reform:
      return "reform";
    case Topic::clock:
      return "clock";
    case Topic::stacks:
      return "stacks";
    case Topic::age:
      return "age";
    case Topic::readings:
      return "readings";
    case Topic::netlist:
      break;
  }
  return "netlist";
}

const char* topic_question(Topic topic) {
  switch (topic) {
    case Topic::check:
      return "what was understood, and what an ohmmeter should read";
    case Topic::rampup:
      return "what each meter should read on each step";
    case Topic::course:
      return "the ladder minute by minute, and how long to wait on each step";
    case Topic::margins:
      return "which part is stressed how far";
    case Topic::bleed:
      return "how long the capacitors stay charged after switch-off";
    case Topic::inrush:
      return "what the mains supplies in the first cycle and the first second";
    case Topic::swap:
      return "what changes with other parts in it";
    case Topic::drawer:
      return "which part of the drawer may stand in";
    case Topic::lines:
      return "what each line voltage does to it";
    case Topic::spread:
      return "how readings scatter over rigs built alike";
    case Topic::stick:
      return "which stick discharges it, and what a bare short does";
    case Topic::reform:
      return "how old electrolytics are brought back";
    case Topic::clock:
      return "what the fall of the volts says of bleeders and cans";
    case Topic::stacks:
      return "how cans in series share the volts";
    case Topic::age:
      return "how long the electrolytics may work on";
    case Topic::readings:
      return "which readings are where they were predicted";
    case Topic::netlist:
      break;
  }
  return "the circuit of one situation, to run elsewhere";
}

namespace {

std::string topic_caution(Topic topic) {
  switch (topic) {
    case Topic::check:
      return "Ohms are read with the plug out and every capacitor discharged, measured and hooked "
             "before; lift the hook for the reading only.";
    case Topic::rampup:
      return "A variac isolates nothing, not even at zero. It limits nothing: a short draws "
             "destructive amps at a quarter of the mains. The lamp limits.";
    case Topic::course:
      return "A clock proves nothing: go to the next step when the meters have stopped moving and "
             "read what they should.";
    case Topic::margins:
      return "A rating kept is no promise for an old part. Cover electrolytics on their first "
             "run and stand aside: they can burst.";
    case Topic::bleed:
      return "These times hold for the paths named with them. An open bleeder cannot be seen from "
             "outside: measure every bleeder, cold, before every first power-up.";
    case Topic::inrush:
      return "A fuse does not protect people, nor the rectifier behind it.";
    case Topic::swap:
      return "Other parts change how fast the volts are there and where. After every swap begin "
             "again with the lamp and the lowest step.";
    case Topic::drawer:
      return "A part out of a drawer is an unknown: test it, and form an old electrolytic, before "
             "it goes in.";
    case Topic::lines:
      return "A bucking winding isolates nothing and has the mains on it.";
    case Topic::spread:
      return "Your rig is one of these, and nobody knows which: measure its parts, then its volts.";
    case Topic::stick:
      return "A stick shows nothing: measure before it and after it, with a meter proved on "
             "something live before and after.";
    case Topic::reform:
      return "A can that is formed can burst and holds a deadly charge: cover it, stand aside, "
             "goggles. No can is good because a program says so.";
    case Topic::clock:
      return "A bleeder that passes this test can open a minute later. Measure, resistor, hook, "
             "every time.";
    case Topic::stacks:
      return "Each can of a stack holds its own charge, and the case of the upper one stands at "
             "high volts: the sleeve is no insulation.";
    case Topic::age:
      return "Hours and years are averages of new parts. Leakage, esr and warmth of your own can "
             "decide.";
    case Topic::readings:
      return "Readings say how it was when they were taken. A reading inside its band excludes few "
             "faults; one outside is enough to stop.";
    case Topic::netlist:
      break;
  }
  return "A circuit file holds what the record says; it knows no loose wire.";
}

constexpr const char* kLaw =
    "This kills, also minutes after the plug is out. Local code and a person licensed to work "
    "under it come before every number here. These are predictions; your meter decides.";
constexpr const char* kNeverAlone =
    "Never alone: a second person who knows where to cut the power. [NAVY-SAFETY]";
constexpr const char* kOneHand =
    "One hand. Clip the meter on with the power off and discharged; never move a probe on live "
    "high voltage. [NAVY-SAFETY]";
constexpr const char* kNotDischarged =
    "Off is not discharged. Plug out, wait, measure each capacitor, resistor stick, measure "
    "again, hook; the hook stays on. [OSHA-1910-269] [CAL-T8-2893]";
constexpr const char* kRebound =
    "A discharged capacitor charges itself again, in bad cases to 10-15 % of the volts it stood "
    "at. [GLASER-DA]";

constexpr const char* kPull = "Switch off and pull the plug. Keep the plug in sight.";
constexpr const char* kWait =
    "Wait the longest time predicted, and 5 minutes when you are in doubt. Waiting proves "
    "nothing. [OSHA-1910-269]";
constexpr const char* kMeasure =
    "Measure at each capacitor, each one of a series pair by itself. [OSHA-1910-269]";
constexpr const char* kResistor =
    "Resistor first: discharge stick, about one ohm per volt, its lead on the chassis before it "
    "goes near the part, one hand. [EIA-815]";
constexpr const char* kMeasureAgain =
    "Measure again. Prove the meter on something live before and after.";
constexpr const char* kHook =
    "Hook: a solid conductor from the chassis to each terminal. [OSHA-1910-269]";
constexpr const char* kLeaveHook =
    "Leave the hook on while hands are inside. A bleeder does not replace it. [CAL-T8-2893]";

}  // namespace

std::vector<std::string> cautions(Topic topic) {
  return {kLaw, kNeverAlone, kOneHand, kNotDischarged, kRebound, topic_caution(topic)};
}

std::vector<std::string> discharge_steps() {
  return {kPull, kWait, kMeasure, kResistor, kMeasureAgain, kHook, kLeaveHook};
}

void begin_report(Page& page, const core::Rig& rig, Topic topic) {
  page.title(fmt::format("firstglow {}: {}", topic_command(topic), topic_question(topic)));
  page.text(fmt::format("Rig: {}", rig.name), 0, 5);
  page.text(fmt::format("File: {}", rig.file), 0, 6);
  page.blank().text("BEFORE ANYTHING ELSE");
  for (const std::string& caution : cautions(topic)) {
    page.item("!", caution);
  }
  page.text("More: docs/cautions.md. Sources in brackets: docs/references.md.", 2);
}

void end_report(Page& page, const std::vector<std::string>& assumptions) {
  page.heading("ASSUMED");
  for (const std::string& assumption : assumptions) {
    page.item("-", assumption);
  }
  page.item("-",
            "The parts are as the record file says, within tolerance, and wired as it says. A "
            "reading outside its band means: stop, plug out, find out why.");
  page.item("-",
            "Limits stand with their source and can be replaced by your own. Local code and "
            "licensed practice come before all of them.");
}

}  // namespace firstglow::sim
