// SPDX-License-Identifier: Apache-2.0
// What neighbours do to each other: cavities of a plug, wires of a bundle (docs/formats/loom.md, "Faults between
// neighbours").
#include "fault/fault_list.h"

namespace halfsplit::fault {

namespace {

using circuit::Connector;
using circuit::ConnectorId;
using circuit::Element;
using circuit::ElementId;
using circuit::Item;

// Contacts of one plug by their cavity.
using Contacts = std::map<std::string, ElementId>;

// Does it matter which way round the terminals are? A fuse has no neighbours worth the name: its blades are its own.
bool has_neighbours(const circuit::Part& part) { return part.kind != circuit::PartKind::kFuse; }
bool is_polar(const circuit::Part& part) {
  using P = circuit::PartKind;
  return part.kind == P::kDiode || part.kind == P::kRelay || part.kind == P::kPotentiometer ||
         part.kind == P::kThreeWireSensor || part.kind == P::kBattery || part.kind == P::kAlternator ||
         (part.kind == P::kLamp && part.led);
}

void put_swapped(FaultList& list, const Site& site, ElementId one, ElementId two) {
  Fault swapped = list.start(site, FaultKind::kSwapped, "swapped", "pins exchanged");
  swapped.element = one;
  swapped.other = two;
  list.put(std::move(swapped));
}

void join(FaultList& list, ConnectorId id, const Contacts& contacts, const std::string& one, const std::string& two) {
  const auto first = contacts.find(one);
  const auto second = contacts.find(two);
  if (first == contacts.end() || second == contacts.end()) return;
  const Element& e = list.net.elements[first->second.index()];
  const Element& f = list.net.elements[second->second.index()];
  if (list.nets.same(e.a, f.a) || list.nets.same(e.b, f.b)) return;
  const Connector& connector = list.loom.connectors[id.index()];
  Site site = list.contact_site(id, one);
  site.name = connector.name + ":" + one + "+" + two;
  site.description = connector.name + " cavities " + one + " and " + two;
  if (connector.part.is_none() || is_polar(list.loom.parts[connector.part.index()]))
    put_swapped(list, site, first->second, second->second);
  list.put_branch(site, FaultKind::kTouches, e.a, f.a, "touch", "joined (bent pin, strand, swarf)");
  site.repair = list.repair("plug", connector.name, connector.place[0], Item{Item::Kind::kConnector, id.value, ""},
                            std::nullopt, std::nullopt, "seal", id);
  list.put_branch(site, FaultKind::kWater, e.a, f.a, "water", "leakage between them (water, corrosion)");
}

void add_plug(FaultList& list, ConnectorId id, const Contacts& contacts) {
  const Connector& connector = list.loom.connectors[id.index()];
  if (!connector.part.is_none() && !has_neighbours(list.loom.parts[connector.part.index()])) return;
  const auto& rows = connector.rows;
  for (std::size_t r = 0; r < rows.size(); ++r)
    for (std::size_t c = 0; c < rows[r].size(); ++c) {
      if (c + 1 < rows[r].size()) join(list, id, contacts, rows[r][c], rows[r][c + 1]);
      if (r + 1 < rows.size() && c < rows[r + 1].size()) join(list, id, contacts, rows[r][c], rows[r + 1][c]);
    }
}

void chafe(FaultList& list, std::size_t one, std::size_t two, double share) {
  const Element& e = list.net.elements[list.net.wire_elements[one].index()];
  const Element& f = list.net.elements[list.net.wire_elements[two].index()];
  if (list.nets.same(e.b, f.b)) return;
  const circuit::Wire& wire = list.loom.wires[one];
  const circuit::PlaceId place = list.place_of(wire);
  Site site{wire.name + "+" + list.loom.wires[two].name,
            "wires " + wire.name + " and " + list.loom.wires[two].name,
            e.item,
            place,
            wire.rate,
            "wire",
            {}};
  site.repair = list.repair("wire", wire.name, place, e.item, wire.repair_minutes, wire.part_money, "wire");
  list.put_branch(site, FaultKind::kTouches, e.b, f.b, "touch", "chafed into each other", share);
}

}  // namespace

void add_neighbours_in_plugs(FaultList& list) {
  std::vector<Contacts> contacts(list.loom.connectors.size());
  for (std::size_t i = 0; i < list.net.elements.size(); ++i) {
    const Element& e = list.net.elements[i];
    if (e.kind == circuit::ElementKind::kContact) contacts[e.connector.index()][e.item.cavity] = ElementId(i);
  }
  for (std::size_t i = 0; i < contacts.size(); ++i) add_plug(list, ConnectorId(i), contacts[i]);
}

void add_neighbours_in_bundles(FaultList& list) {
  std::map<std::string, std::vector<std::size_t>> bundles;
  for (std::size_t i = 0; i < list.loom.wires.size(); ++i)
    if (!list.loom.wires[i].bundle.empty()) bundles[list.loom.wires[i].bundle].push_back(i);
  for (const auto& [name, wires] : bundles)
    for (std::size_t i = 0; i < wires.size(); ++i)
      for (std::size_t j = i + 1; j < wires.size(); ++j)
        chafe(list, wires[i], wires[j], 2.0 / static_cast<double>(wires.size()));
}

}  // namespace halfsplit::fault
