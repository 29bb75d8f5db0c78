// SPDX-License-Identifier: Apache-2.0
// Every single fault of a loom: of each element in the order of the netlist, then of neighbours in plugs and bundles,
// then of modules. An element of a kind meets the records of rates.h; an item's `rate` and its place's stress scale
// them.
#include "fault/fault_list.h"

namespace halfsplit::fault {

namespace {

using circuit::Element;
using circuit::ElementId;
using circuit::Item;

void add_contact(FaultList& list, ElementId id, const Element& e) {
  const Site site = list.contact_site(circuit::ConnectorId(e.item.index), e.item.cavity);
  list.put_joint(site, id, "contact spread or backed out (open)", "contact corroded or loose (resistance)",
                 "contact that comes and goes");
}

void put_lug(FaultList& list, const Site& site, ElementId id) {
  list.put_joint(site, id, "loose or broken (open)", "corroded (resistance)", "joint that comes and goes");
}

void add_splice_joint(FaultList& list, ElementId id, const Element& e) {
  const circuit::Splice& splice = list.loom.splices[e.item.index];
  Site site{e.name, "splice " + e.name, e.item, splice.place, splice.rate, "splice", {}};
  site.repair = list.repair("splice", splice.name, splice.place, e.item, splice.repair_minutes, std::nullopt, "splice");
  put_lug(list, site, id);
}

// Not a plug's business: a splice that drinks water leaks to whatever metal it lies on.
void add_wet_splices(FaultList& list) {
  for (std::size_t i = 0; i < list.loom.splices.size(); ++i) {
    const circuit::Splice& splice = list.loom.splices[i];
    const circuit::NodeId node = list.net.points[list.net.point_by_name.at(splice.name).index()].node;
    if (list.at_ground(node)) continue;
    const Item item{Item::Kind::kSplice, static_cast<std::uint32_t>(i), ""};
    Site site{splice.name, "splice " + splice.name, item, splice.place, splice.rate, "splice", {}};
    site.repair = list.repair("splice", splice.name, splice.place, item, splice.repair_minutes, std::nullopt, "splice");
    list.put_branch(site, FaultKind::kWater, node, list.net.frame_nodes.front(), "water",
                    "leakage to ground (water, corrosion)");
  }
}

void add_stud_joint(FaultList& list, ElementId id, const Element& e) {
  const circuit::Stud& stud = list.loom.studs[e.item.index];
  const bool whole = e.name == stud.name;
  Site site{e.name,    (whole ? "ground stud " : "lug at ground stud ") + e.name,
            e.item,    stud.place,
            stud.rate, whole ? "stud" : "lug",
            {}};
  site.repair = list.repair("stud", stud.name, stud.place, e.item, stud.repair_minutes, std::nullopt, "");
  put_lug(list, site, id);
}

void add_clamp(FaultList& list, ElementId id, const Element& e) {
  const circuit::Part& part = list.loom.parts[e.item.index];
  Site site{e.name, "clamp or lug " + e.name, e.item, part.place, part.rate, "lug", {}};
  site.repair = list.repair("lug", e.name, part.place, e.item, std::nullopt, std::nullopt, "");
  put_lug(list, site, id);
}

void add_wire(FaultList& list, ElementId id, const Element& e) {
  const circuit::Wire& wire = list.loom.wires[e.item.index];
  const circuit::PlaceId place = list.place_of(wire);
  Site site{wire.name, "wire " + wire.name, e.item, place, wire.rate, "wire", {}};
  site.repair = list.repair("wire", wire.name, place, e.item, wire.repair_minutes, wire.part_money, "wire");
  list.put_joint(site, id, "broken (open)", "strands broken or corroded (resistance)", "break that comes and goes");
  // Touching, it touches somewhere on its way. The far end stands for that: a clamp is put at the near one, and sees
  // what flows on to the touch; volts differ by the drop along the wire only.
  if (!list.at_ground(e.b)) {
    const circuit::NodeId frame = list.net.frame_nodes.front();
    list.put_branch(site, FaultKind::kToGround, e.b, frame, "to ground", "chafed to ground");
    Site loose = site;
    loose.row = "wire, now and then";
    list.put_branch(loose, FaultKind::kIntermittent, e.b, frame, "to ground now and then",
                    "touches ground now and then");
  }
  if (!list.net.supply.is_none() && !list.at_supply(e.b))
    list.put_branch(site, FaultKind::kToSupply, e.b, list.net.supply, "to supply", "chafed to a live wire");
}

void add_element(FaultList& list, ElementId id) {
  const Element& e = list.net.elements[id.index()];
  switch (e.item.kind) {
    case Item::Kind::kConnector:
      return add_contact(list, id, e);
    case Item::Kind::kSplice:
      return add_splice_joint(list, id, e);
    case Item::Kind::kStud:
      return add_stud_joint(list, id, e);
    case Item::Kind::kWire:
      return add_wire(list, id, e);
    case Item::Kind::kPart:
      return e.kind == circuit::ElementKind::kJoint ? add_clamp(list, id, e) : add_part_faults(list, id);
    case Item::Kind::kModule:
      return add_faults_inside(list, id);
    case Item::Kind::kNone:
      return;
  }
}

}  // namespace

Universe make_universe(const circuit::Loom& loom, const circuit::Netlist& netlist, const RateOverlay& learned) {
  FaultList list(loom, netlist, learned);
  for (std::size_t i = 0; i < netlist.elements.size(); ++i) add_element(list, ElementId(i));
  add_wet_splices(list);
  add_neighbours_in_plugs(list);
  add_neighbours_in_bundles(list);
  for (std::size_t i = 0; i < loom.modules.size(); ++i) add_module_faults(list, circuit::ModuleId(i));
  return list.take();
}

FaultId Universe::find(std::string_view name) const {
  for (std::size_t i = 0; i < faults.size(); ++i)
    if (faults[i].name == name) return FaultId(i);
  return {};
}

}  // namespace halfsplit::fault
