// SPDX-License-Identifier: Apache-2.0
#include "tests/oracle/coverage.h"

#include "circuit/part_kinds.h"

namespace halfsplit::oracle {

namespace {

using circuit::Element;
using circuit::ElementKind;
using circuit::Item;
using fault::FaultKind;

// docs/formats/loom.md section 8, "Faults by element" and "Faults between neighbours".
struct Expected {
  const char* subject;
  std::vector<FaultKind> kinds;
};
const std::vector<Expected>& expected_faults() {
  static const std::vector<FaultKind> kJoint = {FaultKind::kOpen, FaultKind::kHighResistance, FaultKind::kIntermittent};
  static const std::vector<FaultKind> kLoad = {FaultKind::kOpen, FaultKind::kShorted, FaultKind::kWrongValue};
  static const std::vector<FaultKind> kBeside = {FaultKind::kSwapped, FaultKind::kTouches, FaultKind::kWater};
  static const std::vector<Expected> kAll = {
      {"contact", kJoint},
      {"joint at a splice", kJoint},
      {"joint at a stud", kJoint},
      {"clamp", kJoint},
      {"stud", kJoint},
      {"wire", kJoint},
      {"wire", {FaultKind::kToGround, FaultKind::kToSupply}},
      {"wires of a bundle", {FaultKind::kTouches}},
      {"neighbours in an inline plug", kBeside},
      {"neighbours in a module's plug", kBeside},
      {"fuse", {FaultKind::kBlown}},
      {"switch", {FaultKind::kStuckOpen, FaultKind::kStuckClosed, FaultKind::kBurnt}},
      {"relay", {FaultKind::kCoilOpen, FaultKind::kStuckOpen, FaultKind::kStuckClosed, FaultKind::kBurnt}},
      {"diode", {FaultKind::kOpen, FaultKind::kShorted}},
      {"lamp", {FaultKind::kOpen, FaultKind::kShorted}},
      {"LED lamp", {FaultKind::kOpen, FaultKind::kShorted}},
      {"motor", kLoad},
      {"solenoid", kLoad},
      {"heater", kLoad},
      {"resistor", {FaultKind::kOpen, FaultKind::kWrongValue}},
      {"terminator", {FaultKind::kMissing, FaultKind::kWrongValue, FaultKind::kDoubled}},
      {"ntc", kLoad},
      {"ptc", kLoad},
      {"sender", kLoad},
      {"potentiometer", kLoad},
      {"three-wire-sensor", {FaultKind::kOpen, FaultKind::kStuck}},
      {"battery", {FaultKind::kFlat, FaultKind::kWeak}},
      {"alternator", {FaultKind::kNoCharge}},
      {"module", {FaultKind::kDead}},
      {"input pin", {FaultKind::kInputDamaged}},
      {"return pin", {FaultKind::kOpen}},
      {"reference pin", {FaultKind::kOpen}},
      {"driver pin", {FaultKind::kOutputDead, FaultKind::kOutputStuckOn}},
      {"terminator inside", {FaultKind::kMissing, FaultKind::kDoubled}},
  };
  return kAll;
}

constexpr const char* kExpectedStates[] = {"relay in",
                                           "relay out",
                                           "diode conducts",
                                           "diode blocks",
                                           "LED lit",
                                           "alternator feeds",
                                           "filament lit",
                                           "module alive",
                                           "module not alive",
                                           "driver on",
                                           "driver off",
                                           "driver tripped",
                                           "fuse melted",
                                           "fuse melted at work",
                                           "sensor output on",
                                           "sensor output off",
                                           "no rest",
                                           "setup made",
                                           "plug apart",
                                           "stand-in fitted",
                                           "lead fitted",
                                           "part swapped",
                                           "module swapped",
                                           "two faults",
                                           "volts",
                                           "ohms",
                                           "ohms OL",
                                           "clamp",
                                           "test lamp"};

std::string inside_of_module(const Element& e) {
  if (e.kind == ElementKind::kDriver) return "driver pin";
  for (const char* role : {"input", "return", "reference"})
    if (e.name.ends_with(std::string(" ") + role)) return std::string(role) + " pin";
  return "terminator inside";
}

}  // namespace

std::string subject_of(const circuit::Loom& loom, const circuit::Netlist& netlist, const fault::Fault& fault) {
  const bool beside =
      fault.kind == FaultKind::kTouches || fault.kind == FaultKind::kWater || fault.kind == FaultKind::kSwapped;
  const Element* e = fault.element.is_none() ? nullptr : &netlist.elements[fault.element.index()];
  switch (fault.item.kind) {
    case Item::Kind::kConnector:
      if (!beside) return "contact";
      return loom.connectors[fault.item.index].module.is_none() ? "neighbours in an inline plug"
                                                                : "neighbours in a module's plug";
    case Item::Kind::kSplice:
      return "joint at a splice";
    case Item::Kind::kStud:
      return e != nullptr && e->name == loom.studs[fault.item.index].name ? "stud" : "joint at a stud";
    case Item::Kind::kWire:
      return beside ? "wires of a bundle" : "wire";
    case Item::Kind::kPart: {
      if (e != nullptr && e->kind == ElementKind::kJoint) return "clamp";
      const circuit::Part& part = loom.parts[fault.item.index];
      return part.led ? "LED lamp" : std::string(circuit::part_kind(part.kind).word);
    }
    case Item::Kind::kModule:
      if (fault.kind == FaultKind::kDead) return "module";
      if (fault.kind == FaultKind::kDoubled) return "terminator inside";
      if (fault.kind == FaultKind::kInputDamaged) return "input pin";
      return e != nullptr ? inside_of_module(*e) : "pin of a module";
    case Item::Kind::kNone:
      break;
  }
  return "nothing";
}

void Coverage::note_configuration(const circuit::Configuration& c) {
  if (!c.made.empty()) note_state("setup made");
  if (!c.unplugged.empty()) note_state("plug apart");
  if (!c.swapped_parts.empty()) note_state("part swapped");
  if (!c.swapped_modules.empty()) note_state("module swapped");
  for (const circuit::Fitted& fitted : c.fitted)
    note_state(fitted.kind == circuit::Fitted::Kind::kStandIn ? "stand-in fitted" : "lead fitted");
}

std::string Coverage::table() const {
  std::string text = "faults met, by what they sit on\n";
  std::string last;
  for (const auto& [what, count] : faults_) {
    if (what.first != last) text += (last.empty() ? "  " : "\n  ") + what.first + ": ";
    if (what.first == last) text += ", ";
    last = what.first;
    text += std::string(fault::fault_kind_word(what.second)) + " " + std::to_string(count);
  }
  for (const auto& [title, counts] : {std::pair{"\nparts in looms", &parts_}, std::pair{"\nstates met", &states_}}) {
    text += std::string(title) + "\n ";
    for (const auto& [name, count] : *counts) text += " " + name + " " + std::to_string(count) + ",";
    text.back() = ' ';
  }
  return text + "\n";
}

std::vector<std::string> Coverage::missing() const {
  std::vector<std::string> none;
  for (const Expected& expected : expected_faults())
    for (const FaultKind kind : expected.kinds)
      if (!faults_.contains({expected.subject, kind}))
        none.push_back(std::string(expected.subject) + ": " + std::string(fault::fault_kind_word(kind)));
  for (const circuit::PartKindInfo& kind : circuit::part_kinds())
    if (!parts_.contains(std::string(kind.word))) none.push_back("part: " + std::string(kind.word));
  for (const char* state : kExpectedStates)
    if (!states_.contains(state)) none.push_back(std::string("state: ") + state);
  return none;
}

}  // namespace halfsplit::oracle
