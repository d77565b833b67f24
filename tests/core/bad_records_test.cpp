/// Every kind of fault a record can have, with its exact place and the words that name it.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/core/record_texts.hpp"

namespace firstglow::core {
namespace {

using testing::HasSubstr;

struct BadEdit {
  const char* name;
  const char* from;      ///< text of small_rig.yaml
  const char* to;        ///< what stands there instead
  const char* fragment;  ///< of the message, place included
};

class BadRecord : public testing::TestWithParam<BadEdit> {};

TEST_P(BadRecord, IsRefusedWithPlaceAndReason) {
  const std::string faults = faults_of(edited(small_record(), GetParam().from, GetParam().to));
  EXPECT_THAT(faults, HasSubstr(GetParam().fragment));
}

std::string name_of(const testing::TestParamInfo<BadEdit>& info) { return info.param.name; }

INSTANTIATE_TEST_SUITE_P(
    TopLevel, BadRecord,
    testing::Values(
        BadEdit{"WrongVersion", "firstglow: 1", "firstglow: 2",
                "rig.yaml:1:12: record, key 'firstglow': version '2' is found; expected 1"},
        BadEdit{"NoVersion", "firstglow: 1\n", "",
                "rig.yaml:1:1: record: key 'firstglow' is missing"},
        BadEdit{"NoName", "name: Small rig\n", "", "record: key 'name' is missing"},
        BadEdit{"NoChassis", "chassis: CHASSIS\n", "", "record: key 'chassis' is missing"},
        BadEdit{"UnknownKey", "description:", "descripton:",
                "rig.yaml:3:1: record: unknown key 'descripton'; expected one of firstglow, name, "
                "description, chassis, parts; did you mean 'description'?"},
        BadEdit{"TwoGrounds", "chassis: CHASSIS", "chassis: [CHASSIS, GND]",
                "rig.yaml:4:10: record, key 'chassis': 2 grounds are found; expected the one node"},
        BadEdit{"ChassisOpen", "chassis: CHASSIS", "chassis: open",
                "rig.yaml:4:10: record, key 'chassis': the word 'open' marks insulated ends"},
        BadEdit{"ChassisNoName", "chassis: CHASSIS", "chassis: 'A B'",
                "rig.yaml:4:10: record, key 'chassis': 'A B' is no name; expected 1 to 32"},
        BadEdit{"NameIsAMap", "name: Small rig", "name: {a: b}",
                "rig.yaml:2:7: record, key 'name': a map is found; expected text"},
        BadEdit{
            "NameTooLong", "name: Small rig",
            "name: "
            "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx",
            "rig.yaml:2:7: record, key 'name': the text has 81 characters; expected at most 80"},
        BadEdit{"DuplicateDesignator", "  D2: {", "  D1: {",
                "rig.yaml:14:3: 'D1' is given twice, first in line 13; expected each designator"},
        BadEdit{"DuplicateKey", "rating: 1 A", "rating: 1 A, rating: 2 A",
                "rig.yaml:7:53: 'rating' is given twice, first in line 7"}),
    name_of);

INSTANTIATE_TEST_SUITE_P(
    Parts, BadRecord,
    testing::Values(
        BadEdit{"PartIsText", "  R1: {", "  R0: a resistor\n  R1: {",
                "rig.yaml:16:7: part 'R0': a text is found; expected a map"},
        BadEdit{"NoKind", "{kind: fuse, nodes", "{nodes",
                "rig.yaml:7:3: part 'F1': key 'kind' is missing; expected one of mains_inlet"},
        BadEdit{"UnknownKind", "kind: fuse", "kind: fues",
                "rig.yaml:7:14: part 'F1': unknown kind 'fues'"},
        BadEdit{"NearKind", "kind: electrolytic", "kind: electrolitic",
                "did you mean 'electrolytic'?"},
        BadEdit{"BadDesignator", "  R1: {", "  'R 1;': {",
                "rig.yaml:16:3: 'R 1;' is no designator; expected 1 to 32 of the characters"},
        BadEdit{"DesignatorOpen", "  R1: {", "  open: {", "rig.yaml:16:3: 'open' is no designator"},
        BadEdit{"DesignatorLamp", "  R1: {", "  lamp: {",
                "rig.yaml:16:3: designator 'lamp' is kept for the series lamp"},
        BadEdit{"UnknownField", "watts: 10 W", "wats: 10 W",
                "rig.yaml:16:73: part 'R1' (resistor): unknown key 'wats'; expected one of"},
        BadEdit{"NearField", "watts: 10 W", "wats: 10 W", "did you mean 'watts'?"},
        BadEdit{"FieldOfAnotherKind", "rating: 1 A", "rating: 1 A, esr: 1 ohm",
                "part 'F1' (fuse): unknown key 'esr'"},
        BadEdit{"MissingField", "rating: 1 A, ", "",
                "rig.yaml:7:3: part 'F1' (fuse): key 'rating' is missing; expected current such"},
        BadEdit{"MissingValue", "value: 47k, ", "",
                "rig.yaml:16:3: part 'R1' (resistor), key 'value': neither 'value' nor 'measured'"},
        BadEdit{"EmptyValue", "value: 47k", "value: ",
                "part 'R1' (resistor), key 'value': nothing is found; expected resistance such"},
        BadEdit{"ValueIsAList", "value: 47k", "value: [47k]",
                "rig.yaml:16:68: part 'R1' (resistor), key 'value': a list is found"},
        BadEdit{"UnitMissing", "value: 47k", "value: 47",
                "rig.yaml:16:68: part 'R1' (resistor), key 'value': '47' has no unit; expected a "
                "resistance such as '4.7 kohm' or '4k7'; add the unit"},
        BadEdit{
            "WrongDimension", "value: 47k", "value: 47 V",
            "rig.yaml:16:68: part 'R1' (resistor), key 'value': '47 V' is a voltage; expected a "
            "resistance"},
        BadEdit{"Negative", "value: 47k", "value: -47k",
                "rig.yaml:16:68: part 'R1' (resistor), key 'value': '-47k' is negative"},
        BadEdit{"Zero", "value: 47k", "value: 0k", "'0k' is zero"},
        BadEdit{"NotFinite", "value: 47k", "value: .inf", "'.inf' is not a finite number"},
        BadEdit{"Comma", "value: 47k", "value: '4,7k'", "'4,7k' holds a comma"},
        BadEdit{"Absurd", "value: 47k", "value: 47000 Gohm", "check the prefix"},
        BadEdit{"BadTolerance", "value: 47k", "value: 47k, tolerance: 20",
                "rig.yaml:16:84: part 'R1' (resistor), key 'tolerance': '20' does not end in the "
                "unit %"},
        BadEdit{
            "BadChoice", "role: bleeder", "role: bleader",
            "rig.yaml:16:30: part 'R1' (resistor), key 'role': 'bleader' is found; expected one of "
            "plain, bleeder, equaliser, dropper; did you mean 'bleeder'?"},
        BadEdit{"BadCount", "type: 1N4007,", "type: 1N4007, in_series: 2.5,",
                "key 'in_series': '2.5' is not a whole number from 1 to 100"},
        BadEdit{
            "UnknownType", "type: 1N4007,", "type: 1N4070,",
            "rig.yaml:13:35: part 'D1' (silicon_diode), key 'type': '1N4070' is not in the part "
            "library; known near it: 1N40"},
        BadEdit{"SurgeBelowWorking", "working_volts: 500 V",
                "working_volts: 500 V, surge_volts: 450 V",
                "key 'surge_volts': 450 V is below the working 500 V"},
        BadEdit{"LowAboveNominal", "nominal: 120 V", "nominal: 120 V, low: 125 V",
                "key 'low': 125 V is above the nominal 120 V"},
        BadEdit{"HighBelowNominal", "nominal: 120 V", "nominal: 120 V, high: 110 V",
                "key 'high': 110 V is below the nominal 120 V"},
        BadEdit{
            "HeaterColderHot", "  LOAD:",
            "  H: {kind: heater, nodes: [HV1, HV2], rated_volts: 6 V, hot: 1 ohm, cold: 1 ohm}\n"
            "  LOAD:",
            "key 'hot': 1 ohm hot is not above 1 ohm cold"}),
    name_of);

INSTANTIATE_TEST_SUITE_P(
    Nodes, BadRecord,
    testing::Values(
        BadEdit{
            "ListForPolarised", "nodes: {plus: B+, minus: CHASSIS}, value: 47u",
            "nodes: [B+, CHASSIS], value: 47u",
            "rig.yaml:15:35: part 'C1' (electrolytic), key 'nodes': a list is found; expected a "
            "map, {plus: NODE, minus: NODE}"},
        BadEdit{"MapForTwoEnds", "nodes: [LINE, PRI]", "nodes: {a: LINE, b: PRI}",
                "key 'nodes': a map is found; expected a list of two nodes"},
        BadEdit{"ThreeEnds", "nodes: [LINE, PRI]", "nodes: [LINE, PRI, X]",
                "key 'nodes': a list of 3 is found; expected a list of two nodes"},
        BadEdit{"WrongEnd", "{anode: HV1, cathode", "{anod: HV1, cathode",
                "rig.yaml:13:51: part 'D1' (silicon_diode): unknown end 'anod'; expected anode, "
                "cathode; did you mean 'anode'?"},
        BadEdit{"MissingEnd", "{anode: HV1, cathode: B+}", "{anode: HV1}",
                "key 'nodes': end 'cathode' is missing"},
        BadEdit{"BadNodeName", "nodes: [LINE, PRI]", "nodes: [LINE, 'PRI .include x']",
                "rig.yaml:7:34: part 'F1' (fuse): key 'nodes': 'PRI .include x' is no node name"},
        BadEdit{"NodeIsAMap", "nodes: [LINE, PRI]", "nodes: [LINE, {a: b}]",
                "key 'nodes': a map is no node name"},
        BadEdit{"WindingIsText",
                "plate: {nodes: [HV1, CHASSIS, HV2], volts: 2x300 V, ohms: [90 ohm, 95 ohm]}",
                "plate: 300 V",
                "rig.yaml:12:14: part 'T1' (power_transformer), winding 'plate': a text is found"},
        BadEdit{
            "WindingKey", "ohms: [90 ohm", "ohm: [90 ohm",
            "rig.yaml:12:59: part 'T1' (power_transformer), winding 'plate': unknown key 'ohm'"},
        BadEdit{
            "SectionCount", "2x300 V", "600 V",
            "rig.yaml:12:50: part 'T1' (power_transformer), winding 'plate', key 'volts': 1 value "
            "for 3 nodes; expected one for each section between two neighbouring nodes (2)"},
        BadEdit{
            "SectionUnit", "95 ohm", "95 V",
            "rig.yaml:12:74: part 'T1' (power_transformer), winding 'plate', key 'ohms': '95 V' "
            "is a voltage"},
        BadEdit{"OneNodeWinding", "nodes: [HV1, CHASSIS, HV2]", "nodes: [HV1]",
                "winding 'plate', key 'nodes': expected a list of two nodes or more"},
        BadEdit{"WindingName", "      plate:", "      'plate `x`':",
                "rig.yaml:12:7: part 'T1' (power_transformer): 'plate `x`' is no winding name"},
        BadEdit{"NoSecondaries",
                "    secondaries:\n      plate: {nodes: [HV1, CHASSIS, HV2], volts: 2x300 V, ohms: "
                "[90 ohm, 95 ohm]}",
                "    secondaries: {}", "key 'secondaries': expected a map with 1 to 32 windings"},
        BadEdit{
            "NoLoadUnknown", ", rated_current: 0.8 A", "",
            "rig.yaml:8:3: part 'T1' (power_transformer), key 'no_load_current': neither no-load"},
        BadEdit{"NoLoadWattsTooHigh", "    secondaries:",
                "    no_load_current: 80 mA\n    no_load_watts: 10 W\n    secondaries:",
                "key 'no_load_watts': 10 W is not below the 9.36 VA"}),
    name_of);

}  // namespace
}  // namespace firstglow::core
