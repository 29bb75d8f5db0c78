// SPDX-License-Identifier: Apache-2.0
#include "predict/provoke.h"

#include <algorithm>

namespace halfsplit::predict {

namespace {

using evidence::Kind;
using ItemKind = circuit::Item::Kind;

// The symptom changes when the item is moved; when it is warmed or cooled.
struct Chances {
  double moved, warmed;
};
constexpr Chances kLooseJoint{0.7, 0.15};   // a contact, joint or wire that comes and goes
constexpr Chances kLooseInside{0.25, 0.6};  // what comes and goes inside a part or module: a cracked solder joint
constexpr Chances kBadJoint{0.12, 0.06};    // a contact, joint or wire that is open or corroded
constexpr Chances kByChance{0.02, 0.02};    // everything else

bool inside(const Scene& scene, const fault::Fault& fault) {
  if (fault.item.kind == ItemKind::kModule) return true;
  return fault.item.kind == ItemKind::kPart &&
         (fault.element.is_none() ||
          scene.netlist.elements.at(fault.element.index()).kind != circuit::ElementKind::kJoint);
}

const Chances& chances_of(const Scene& scene, const fault::Fault& fault) {
  const bool within = inside(scene, fault);
  if (fault.kind == fault::FaultKind::kIntermittent) return within ? kLooseInside : kLooseJoint;
  const bool bad = fault.kind == fault::FaultKind::kOpen || fault.kind == fault::FaultKind::kHighResistance;
  return bad && !within ? kBadJoint : kByChance;
}

bool is_plug_of(const Scene& scene, const circuit::Item& item, const evidence::Observable& observable) {
  if (item.kind != ItemKind::kConnector) return false;
  const circuit::Connector& plug = scene.loom.connectors.at(item.index);
  return (!plug.part.is_none() && plug.part == observable.part) ||
         (!plug.module.is_none() && plug.module == observable.module);
}

// The wire itself, or one of its joints ("S5 to feed.2").
bool is_at_wire(const Scene& scene, const fault::Fault& fault, circuit::WireId wire) {
  if (fault.item.kind == ItemKind::kWire) return fault.item.index == wire.value;
  if (fault.element.is_none()) return false;
  const circuit::Element& e = scene.netlist.elements.at(fault.element.index());
  return e.kind == circuit::ElementKind::kJoint && e.name.ends_with(" to " + scene.loom.wires.at(wire.index()).name);
}

}  // namespace

bool sits_at(const Scene& scene, const evidence::Observable& observable, const fault::Fault& fault) {
  const circuit::Item& item = fault.item;
  if (!observable.wire.is_none()) return is_at_wire(scene, fault, observable.wire);
  if (!observable.connector.is_none()) {
    if (item.kind == ItemKind::kConnector) return item.index == observable.connector.value;
    // A part moves with its plug.
    const circuit::PartId part = scene.loom.connectors.at(observable.connector.index()).part;
    return !part.is_none() && item.kind == ItemKind::kPart && item.index == part.value;
  }
  if (is_plug_of(scene, item, observable)) return true;
  return observable.part.is_none() ? item.kind == ItemKind::kModule && item.index == observable.module.value
                                   : item.kind == ItemKind::kPart && item.index == observable.part.value;
}

double chance_to_provoke(const Scene& scene, const evidence::Observable& observable,
                         const std::vector<fault::FaultId>& faults) {
  const bool moved = observable.kind == Kind::kWiggle;
  double chance = moved ? kByChance.moved : kByChance.warmed;
  for (const fault::FaultId id : faults) {
    const fault::Fault& fault = scene.universe.faults.at(id.index());
    if (!sits_at(scene, observable, fault)) continue;
    const Chances& its = chances_of(scene, fault);
    chance = std::max(chance, moved ? its.moved : its.warmed);
  }
  return chance;
}

}  // namespace halfsplit::predict
