// SPDX-License-Identifier: Apache-2.0
// The templates and what they ask.
#include "formats/sketch.h"

#include <algorithm>

#include "base/nearest.h"
#include "formats/sketch_answers.h"
#include "formats/sketch_bus.h"
#include "formats/sketch_circuits.h"

namespace halfsplit::formats {

namespace {

constexpr SketchQuestion kAskName{"name", "name of the loom", ""};
constexpr SketchQuestion kAskVehicle{"vehicle", "which vehicle", ""};
constexpr SketchQuestion kAskVolts{"volts", "supply, V", "24"};
constexpr SketchQuestion kAskCodes{"codes", "codes for lost nodes, each CODE in NODE lost NODE", "", true};
constexpr SketchQuestion kAskPlugs{
    "plugs", "plugs on the way, each J7 between NODE and NODE, or with its cavities J7:3/4 between ...", "", true};

constexpr SketchQuestion kCanBackbone[] = {
    {"nodes", "nodes in order along the backbone, each NAME or NAME @ PLACE", "", true, true},
    {"bit-rate", "bit rate, kbit/s", "250"},
    {"lengths", "metres from node to node: one for all, or one for each stretch", "3", true},
    {"terminators", "terminators: inside (the end nodes), plug or none; one word for both ends, or two", "inside",
     true},
    {"stub", "metres from the backbone to a node", "0.5"},
    kAskPlugs,
    {"gateway", "which node passes messages on to a second bus", ""},
    {"beyond", "nodes of that second bus, in order away from the gateway", "", true, false, "gateway"},
    {"beyond-bit-rate", "its bit rate, kbit/s", "250", false, false, "gateway"},
    {"beyond-lengths", "its metres from node to node", "3", true, false, "gateway"},
    {"beyond-terminators", "its terminators, the gateway's end first", "inside", true, false, "gateway"},
    {"reader", "where the code reader is plugged in, X9 at NODE or X9:C/D at NODE", ""},
    kAskCodes,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kLinString[] = {
    {"nodes", "nodes in order along the wire, the commander first, each NAME or NAME @ PLACE", "", true, true},
    {"bit-rate", "bit rate, kbit/s", "19.2"},
    {"lengths", "metres from node to node: one for all, or one for each stretch", "1", true},
    {"stub", "metres from the wire to a node", "0.3"},
    {"plugs", "plugs on the way, each J7 between NODE and NODE, or with its cavity J7:3 between ...", "", true},
    kAskCodes,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kLength{"length", "metres of wire there", "8"};

constexpr SketchQuestion kFeed[] = {
    {"load", "what is fed, NAME or NAME @ PLACE", "", false, true},
    {"load-kind", "motor, lamp, solenoid or heater", "motor"},
    {"watt", "its watts", "60"},
    {"fuse", "its fuse, NAME or NAME @ PLACE", "F1"},
    {"rating", "the fuse's amperes", "10"},
    {"switch", "the switch, NAME or NAME @ PLACE", "S1"},
    {"relay", "the relay that the switch works; none: the switch feeds it itself", ""},
    {"plugs", "plugs on the way in order, J4:3, or J4:3/5 when the ground wire goes through it too, perhaps @ PLACE",
     "", true},
    {"ground", "the ground stud, NAME or NAME @ PLACE", "G1"},
    {"size", "mm2 of the wire", "1.5"},
    kLength,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchQuestion kTwoWireSensor[] = {
    {"module", "the module that reads it, NAME or NAME @ PLACE", "", false, true},
    {"sensor", "the sensor, NAME or NAME @ PLACE", "", false, true},
    {"curve", "what it senses and its ohms, at two points or more: -40=50k, 20=2500, 120=120", "", true, true},
    {"unit", "in which unit", ""},
    {"at", "what it senses now; the middle when not known", ""},
    {"signal-pin", "the module's cavity for the signal", "1"},
    {"return-pin", "... and for the return", "2"},
    {"plugs", "plugs on the way in order, each J4:5/6 with signal and return, perhaps @ PLACE", "", true},
    {"pull-up", "the module's pull-up, ohm", "2200"},
    {"code-high", "the code for a voltage above normal", ""},
    {"code-low", "the code for a voltage below normal", ""},
    kLength,
    kAskVolts,
    kAskName,
    kAskVehicle,
};

constexpr SketchTemplate kTemplates[] = {
    {"can-backbone", "a CAN bus: nodes along a terminated pair, plugs, the reader's socket, a gateway to a second bus",
     "--nodes \"VCU, DSP, BC1, BC2\" --plugs \"J7 between DSP and BC1\"", kCanBackbone, draw_can_backbone},
    {"lin-string", "a LIN bus: a commander and its responders on one wire", "--nodes \"HVAC, flap-1, flap-2\"",
     kLinString, draw_lin_string},
    {"feed", "a load with its fuse, switch, relay, plugs and ground", "--load \"P3 @ tank\" --relay K3 --plugs J4:3",
     kFeed, draw_feed},
    {"two-wire-sensor", "a resistive sensor on two wires, with the module that reads it",
     "--module HCU --sensor B12 --curve \"-40=50k, 20=2500, 120=120\" --plugs J5:2/3", kTwoWireSensor,
     draw_two_wire_sensor},
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
