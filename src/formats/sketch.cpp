// SPDX-License-Identifier: Apache-2.0
// The templates and what they ask.
#include "formats/sketch.h"

#include <algorithm>

#include "base/nearest.h"
#include "formats/sketch_answers.h"
#include "formats/sketch_bus.h"
#include "formats/sketch_circuits.h"
#include "formats/sketch_draw.h"

namespace halfsplit::formats {

namespace {

using AnswerKind = SketchAnswerKind;

constexpr SketchQuestion asks_text(std::string_view name, std::string_view asks, std::string_view fallback,
                                   std::string_view example) {
  return {name, asks, fallback, example};
}
constexpr SketchQuestion several(std::string_view name, std::string_view asks, std::string_view fallback,
                                 std::string_view example) {
  return {name, asks, fallback, example, true};
}
constexpr SketchQuestion asks_number(std::string_view name, std::string_view asks, std::string_view fallback,
                                     std::string_view example) {
  return {name, asks, fallback, example, false, false, AnswerKind::kNumber};
}
constexpr SketchQuestion choice(std::string_view name, std::string_view asks, std::string_view fallback,
                                std::string_view choices) {
  return {name, asks, fallback, fallback, false, false, AnswerKind::kChoice, choices};
}
constexpr SketchQuestion yes_no(std::string_view name, std::string_view asks, std::string_view fallback) {
  return {name, asks, fallback, "yes", false, false, AnswerKind::kYesNo, "yes no"};
}
constexpr SketchQuestion needed(SketchQuestion question) {
  question.required = true;
  return question;
}
constexpr SketchQuestion only_with(std::string_view other, SketchQuestion question) {
  question.only_with = other;
  return question;
}

constexpr SketchQuestion kAskName = asks_text("name", "name of the loom", "", "Rear pump");
constexpr SketchQuestion kAskVehicle = asks_text("vehicle", "which vehicle", "", "sweeper, demo vehicle 3");
constexpr SketchQuestion kAskVolts = asks_number("volts", "supply, V", "24", "12");
constexpr SketchQuestion kAskCodes =
    several("codes", "codes for lost nodes, each CODE in NODE lost NODE", "", "SPN 520301 FMI 9 in VCU lost BC1");
constexpr SketchQuestion kLinCodes =
    several("codes", "codes for lost nodes, each CODE in NODE lost NODE", "", "SPN 520331 FMI 9 in HVAC lost flap-1");
constexpr SketchQuestion kLength = asks_number("length", "metres of wire there", "8", "12");
constexpr SketchQuestion kLoad = asks_text("load", "what is fed, NAME or NAME @ PLACE", "", "P3 @ tank");
constexpr SketchQuestion kLoadKind =
    choice("load-kind", "motor, lamp, solenoid or heater", "motor", "motor lamp solenoid heater");
constexpr SketchQuestion kWatt = asks_number("watt", "its watts", "60", "70");
constexpr SketchQuestion kFuse = asks_text("fuse", "its fuse, NAME or NAME @ PLACE", "F1", "F4 @ cab");
constexpr SketchQuestion kRating = asks_number("rating", "the fuse's amperes", "10", "15");
constexpr SketchQuestion kSwitch = asks_text("switch", "the switch, NAME or NAME @ PLACE", "S1", "S3 @ dashboard");
constexpr SketchQuestion kGround = asks_text("ground", "the ground stud, NAME or NAME @ PLACE", "G1", "G4 @ rear beam");
constexpr SketchQuestion kSize = asks_number("size", "mm2 of the wire", "1.5", "2.5");
constexpr SketchQuestion kModule =
    asks_text("module", "the module that reads it, NAME or NAME @ PLACE", "", "HCU @ cab floor");
constexpr SketchQuestion kSensor = asks_text("sensor", "the sensor, NAME or NAME @ PLACE", "", "B12 @ oil tank");
constexpr SketchQuestion kUnit = asks_text("unit", "in which unit", "", "degC");
constexpr SketchQuestion kAt = asks_number("at", "what it senses now; the middle when not known", "", "20");
constexpr SketchQuestion kCodeHigh =
    asks_text("code-high", "the code for a voltage above normal", "", "SPN 520210 FMI 3");
constexpr SketchQuestion kCodeLow =
    asks_text("code-low", "the code for a voltage below normal", "", "SPN 520210 FMI 4");

constexpr SketchQuestion kCanBackbone[] = {
    needed(several("nodes", "nodes in order along the backbone, each NAME or NAME @ PLACE", "",
                   "VCU @ cab, DSP, BC1 @ body, BC2")),
    asks_number("bit-rate", "bit rate, kbit/s", "250", "500"),
    several("lengths", "metres from node to node: one for all, or one for each stretch", "3", "1.5, 4, 6"),
    several("terminators", "terminators: inside (the end nodes), plug or none; one word for both ends, or two",
            "inside", "plug, inside"),
    asks_number("stub", "metres from the backbone to a node", "0.5", "0.3"),
    several("plugs", "plugs on the way, each J7 between NODE and NODE, or with its cavities J7:3/4 between ...", "",
            "J7:3/4 between DSP and BC1"),
    asks_text("gateway", "which node passes messages on to a second bus", "", "DSP"),
    only_with("gateway", several("beyond", "nodes of that second bus, in order away from the gateway", "", "T1, T2")),
    only_with("gateway", asks_number("beyond-bit-rate", "its bit rate, kbit/s", "250", "125")),
    only_with("gateway", several("beyond-lengths", "its metres from node to node", "3", "6")),
    only_with("gateway", several("beyond-terminators", "its terminators, the gateway's end first", "inside", "inside")),
    asks_text("reader", "where the code reader is plugged in, X9 at NODE or X9:C/D at NODE", "", "X9:C/D at VCU"),
    kAskCodes,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kLinString[] = {
    needed(several("nodes", "nodes in order along the wire, the commander first, each NAME or NAME @ PLACE", "",
                   "HVAC, flap-1, flap-2")),
    asks_number("bit-rate", "bit rate, kbit/s", "19.2", "9.6"),
    several("lengths", "metres from node to node: one for all, or one for each stretch", "1", "0.8, 2"),
    asks_number("stub", "metres from the wire to a node", "0.3", "0.2"),
    several("plugs", "plugs on the way, each J7 between NODE and NODE, or with its cavity J7:3 between ...", "",
            "J7:3 between flap-1 and flap-2"),
    kLinCodes,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kFeed[] = {
    needed(kLoad),
    kLoadKind,
    kWatt,
    kFuse,
    kRating,
    kSwitch,
    asks_text("relay", "the relay that the switch works; none: the switch feeds it itself", "", "K3 @ cab"),
    several("plugs",
            "plugs on the way in order, J4:3, or J4:3/5 when the ground wire goes through it too, perhaps @ PLACE", "",
            "J2:7 @ bulkhead, J4:3/5"),
    kGround,
    kSize,
    kLength,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kTwoWireSensor[] = {
    needed(kModule),
    needed(kSensor),
    needed(several("curve", "what it senses and its ohms, at two points or more: -40=50k, 20=2500, 120=120", "",
                   "-40=50k, 20=2500, 120=120")),
    kUnit,
    kAt,
    asks_text("signal-pin", "the module's cavity for the signal", "1", "7"),
    asks_text("return-pin", "... and for the return", "2", "8"),
    several("plugs", "plugs on the way in order, each J4:5/6 with signal and return, perhaps @ PLACE", "",
            "J2:5/6, J5:2/3"),
    asks_number("pull-up", "the module's pull-up, ohm", "2200", "4k7"),
    kCodeHigh,
    kCodeLow,
    kLength,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kThreeWireSensor[] = {
    needed(kModule),
    needed(kSensor),
    several("curve", "what it senses and its volts at the signal, at two points or more: 0=0.5, 10=4.5", "",
            "0=0.5, 10=4.5"),
    asks_text("unit", "in which unit", "", "bar"),
    asks_number("at", "what it senses now; the middle when not known", "", "5"),
    asks_text("supply-pin", "the module's cavity for the sensor's supply", "1", "11"),
    asks_text("signal-pin", "... for the signal", "2", "12"),
    asks_text("ground-pin", "... and for the sensor's ground", "3", "13"),
    several("plugs", "plugs on the way in order, each J4:5/6/7 with supply, signal and ground, perhaps @ PLACE", "",
            "J2:5/6/7 @ bulkhead"),
    asks_number("reference", "volts of the module's sensor supply", "5", "5"),
    asks_number("pull-up", "the module's pull-up on the signal, ohm; 0: none or not known", "0", "4k7"),
    asks_number("pull-down", "its pull-down on the signal, ohm; 0: none or not known", "0", "100k"),
    kCodeHigh,
    kCodeLow,
    kLength,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kTrailerSocket[] = {
    needed(choice("socket", "which socket", "24N", "24N 24S 15-pin ABS-EBS 13-pin 12N 12S")),
    several("pins", "which of its pins are in question, by number or function (stop, tail-left ...); none told: all",
            "", "stop, tail-left"),
    yes_no("lead", "is there a coiled lead with a plug at both ends; usual at 24 V", ""),
    several("plugs", "plugs on the trailer that all wires go through, in order, NAME or NAME @ PLACE", "",
            "X3 @ rear beam"),
    yes_no("led", "are the lamps LED lamps", "no"),
    asks_text("socket-name", "the socket's name, NAME or NAME @ PLACE", "X1", "X1 @ coupling"),
    asks_number("length", "metres of wire on the trailer", "11", "7"),
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kChargingCircuit[] = {
    needed(asks_text("alternator", "the alternator, NAME or NAME @ PLACE", "GEN", "GEN @ engine, left")),
    asks_text("battery", "the battery, NAME or NAME @ PLACE", "BAT", "BAT @ battery box"),
    asks_number("batteries", "how many of them in series; two usual at 24 V, one at 12 V", "", "2"),
    asks_text("main-fuse", "the fuse in the charging cable, NAME or NAME @ PLACE; none when left out", "",
              "F1 @ battery box"),
    asks_number("rating", "its amperes", "200", "150"),
    asks_text("lamp", "the charge warning lamp, NAME or NAME @ PLACE", "H1", "H2 @ dashboard"),
    asks_number("lamp-watt", "its watts", "3", "2"),
    asks_text("key", "the key switch, NAME or NAME @ PLACE", "S1", "S1 @ dashboard"),
    asks_text("strap", "the strap from engine to frame, NAME", "", "W31"),
    asks_number("consumers", "watts that are switched on", "240", "500"),
    asks_number("size", "mm2 of the charging and battery cables", "50", "35"),
    asks_number("length", "metres of the charging cable", "4", "6"),
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kGroundPath[] = {
    needed(kLoad),
    kLoadKind,
    kWatt,
    several("plugs", "plugs on its way to the stud, in order, J4:3, perhaps @ PLACE", "", "J4:3 @ rear beam"),
    kGround,
    several("metals",
            "metals the return goes over in order, from the stud's to the one with the battery's cable; a strap "
            "between each two",
            "chassis", "body, frame"),
    several("others", "other loads on the same stud, NAME or NAME @ PLACE", "", "E2, E3"),
    kFuse,
    kRating,
    kSwitch,
    kSize,
    asks_number("strap-size", "mm2 of straps and the battery's cable", "35", "50"),
    asks_number("length", "metres of wire each way", "4", "9"),
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kPath[] = {
    needed({"path",
            "the path hop by hop, as read off the drawing: F3 -> S1 -[RD 1mm2 2m]-> J4:3 -> E1 (lamp 21W); several: "
            "with ; between",
            "", "F3 -> S1 -> J4:3 -> E1 (lamp 21W); E1 -> J4:5 -> G1", true, false, AnswerKind::kPath}),
    several("places", "where things are, each NAME @ PLACE", "", "J4 @ bulkhead, E1 @ roof"),
    asks_number("size", "mm2 of wires that tell none", "1", "0.75"),
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchTemplate kTemplates[] = {
    {"can-backbone", "CAN backbone",
     "a CAN bus: nodes along a terminated pair, plugs, the reader's socket, a gateway to a second bus",
     "modules that are not heard, codes for lost messages",
     "--nodes \"VCU, DSP, BC1, BC2\" --plugs \"J7 between DSP and BC1\"", kCanBackbone, draw_can_backbone},
    {"lin-string", "LIN string", "a LIN bus: a commander and its responders on one wire",
     "one responder or all behind a plug are silent", "--nodes \"HVAC, flap-1, flap-2\"", kLinString, draw_lin_string},
    {"feed", "Supply, fuse, relay, load, ground", "a load with its fuse, switch, relay, plugs and ground",
     "a motor, lamp, valve or heater that does not work or works weakly",
     "--load \"P3 @ tank\" --relay K3 --plugs J4:3", kFeed, draw_feed},
    {"two-wire-sensor", "Two-wire sensor", "a resistive sensor on two wires, with the module that reads it",
     "a temperature or level that shows nothing, its end or nonsense",
     "--module HCU --sensor B12 --curve \"-40=50k, 20=2500, 120=120\" --plugs J5:2/3", kTwoWireSensor,
     draw_two_wire_sensor},
    {"three-wire-sensor", "Three-wire sensor", "a sensor with supply, signal and ground from the module that reads it",
     "a pressure, level, angle or position that shows nothing, its end or nonsense",
     "--module HCU --sensor B7 --curve \"0=0.5, 10=4.5\" --plugs J5:2/3/4", kThreeWireSensor, draw_three_wire_sensor},
    {"trailer-socket", "Trailer socket",
     "a trailer's socket by its standard: feeds, coiled lead, plugs, lamps and returns of each pin",
     "a trailer's lamp or supply that is dead, dim or lights with another", "--socket 24N --pins \"stop, tail-left\"",
     kTrailerSocket, draw_trailer_socket},
    {"charging-circuit", "Charging circuit",
     "batteries, alternator, warning lamp, cables and the grounds of engine and frame",
     "batteries go flat, the warning lamp is lit or never lights, too few or too many volts",
     "--alternator \"GEN @ engine\"", kChargingCircuit, draw_charging_circuit},
    {"ground-path", "Ground path", "a load whose return goes over plugs, a stud, metals and the straps between them",
     "something is weak or odd and its ground is suspected; several things at once",
     "--load \"E1 @ roof\" --metals \"body, frame\" --others E2", kGroundPath, draw_ground_path},
    {"path", "Free path", "any path, hop by hop as read off the drawing; what it leaves open is closed as usual",
     "no other template fits, or the drawing is quicker read off than asked for",
     "--path \"F3 -> S1 -> J4:3 -> E1\" --path \"E1 -> J4:5 -> G1\"", kPath, draw_path},
};

}  // namespace

std::span<const SketchTemplate> sketch_templates() { return kTemplates; }

const SketchTemplate* find_sketch_template(std::string_view name) {
  for (const SketchTemplate& one : kTemplates)
    if (one.name == name) return &one;
  return nullptr;
}

base::Result<Sketched> sketch_loom(const SketchTemplate& which, const SketchAnswers& answers) {
  std::vector<base::Diagnostic> problems;
  std::vector<std::string> names;
  for (const SketchQuestion& question : which.questions) names.emplace_back(question.name);
  for (const auto& [name, texts] : answers)
    if (std::find(names.begin(), names.end(), name) == names.end())
      problems.push_back(base::make_error("sketch.not-asked", std::string(which.name) + " has no \"" + name + "\"",
                                          base::did_you_mean(name, names)));
  const AnswerReader reader(answers);
  for (const SketchQuestion& question : which.questions)
    if (question.required && !reader.told(question.name))
      problems.push_back(base::make_error(
          "sketch.missing-answer", std::string(question.name) + ": " + std::string(question.asks),
          "for example: halfsplit sketch " + std::string(which.name) + " " + std::string(which.example)));
  if (!problems.empty()) return problems;
  return which.draw(answers);
}

}  // namespace halfsplit::formats
