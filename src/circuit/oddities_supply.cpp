// SPDX-License-Identifier: Apache-2.0
// Has every load a way from supply to ground, and every module? Only asked when a battery or alternator is drawn: a
// drawing of one circuit may well leave the supply out.
#include <string>

#include "circuit/oddity_checks.h"
#include "circuit/part_kinds.h"

namespace halfsplit::circuit {

namespace {

bool is_load(const Loom& loom, const Element& element) {
  if (element.part.is_none()) return false;
  if (element.kind == ElementKind::kRelayCoil) return true;
  switch (loom.parts[element.part.index()].kind) {
    case PartKind::kLamp:
    case PartKind::kMotor:
    case PartKind::kSolenoid:
    case PartKind::kHeater:
      return true;
    default:
      return false;
  }
}

void check_load(const Loom& loom, const OddityGraph& graph, std::size_t index, OddityList& list) {
  const Element& load = graph.netlist().elements[index];
  const bool straight =
      (graph.is_hot(load.a) && graph.is_ground(load.b)) || (graph.is_hot(load.b) && graph.is_ground(load.a));
  if (straight) return;
  const bool a_ground = graph.reaches_ground(load.a, index), b_ground = graph.reaches_ground(load.b, index);
  const bool a_supply = graph.reaches_supply(load.a, index), b_supply = graph.reaches_supply(load.b, index);
  if ((a_ground && b_supply) || (b_ground && a_supply)) return;
  const Part& part = loom.parts[load.part.index()];
  const std::string what(part_kind(part.kind).word);
  if (!a_ground && !b_ground)
    list.warn("no-ground", part.where, what + " " + part.name + " has no way back to any battery's -",
              "draw its ground wire, and the battery's own");
  else
    list.warn("no-supply", part.where, what + " " + part.name + " has no way from any battery's +",
              "draw its feed, or end it at a stud when it is a ground");
}

// True when something stands behind the module's pins that needs a ground.
bool needs_ground(const Module& module) {
  for (const ModulePin& pin : module.pins)
    if (pin.role != PinRole::kUnknown && pin.role != PinRole::kGround) return true;
  return false;
}

void check_module(const Loom& loom, const OddityGraph& graph, std::size_t index, OddityList& list) {
  const Module& module = loom.modules[index];
  const ModuleWiring& wiring = graph.netlist().modules[index];
  if (!wiring.ground_drawn && module.frame.is_none() && needs_ground(module))
    list.warn("module-without-ground", module.where, "module " + module.name + " has no ground pin and no frame",
              "give it a pin of role ground, or say which frame its housing sits on");
  if (!graph.has_source()) return;
  if (wiring.ground_drawn && !graph.is_ground(wiring.ground))
    list.warn("no-ground", module.where, "no ground pin of module " + module.name + " has a way to any battery's -",
              "draw its ground wire");
  if (wiring.supply_drawn && !graph.is_hot(wiring.supply))
    list.warn("no-supply", module.where, "no supply pin of module " + module.name + " has a way from any battery's +",
              "draw its feed");
}

// Sources whose - hangs on no frame while others hang loads there; said once.
bool check_frames(const Loom& loom, const OddityGraph& graph, OddityList& list) {
  bool studded = !loom.studs.empty();
  for (const Wire& wire : loom.wires)
    studded = studded || wire.from.kind == EndPoint::Kind::kFrame || wire.to.kind == EndPoint::Kind::kFrame;
  for (const NodeId frame : graph.netlist().frame_nodes)
    if (graph.is_ground(frame)) return true;
  if (!studded || loom.supply.is_none()) return true;
  const Part& battery = loom.parts[loom.supply.index()];
  list.warn("battery-not-grounded", battery.where, "the - of battery " + battery.name + " has no way to any frame",
            "draw its ground strap; until then no load on a stud has a way back");
  return false;
}

}  // namespace

void check_supply(const Loom& loom, const OddityGraph& graph, OddityList& list) {
  for (std::size_t i = 0; i < loom.modules.size(); ++i) check_module(loom, graph, i, list);
  if (!graph.has_source() || !check_frames(loom, graph, list)) return;
  const std::vector<Element>& elements = graph.netlist().elements;
  for (std::size_t i = 0; i < elements.size(); ++i)
    if (is_load(loom, elements[i])) check_load(loom, graph, i, list);
}

}  // namespace halfsplit::circuit
