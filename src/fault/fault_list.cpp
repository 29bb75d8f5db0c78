// SPDX-License-Identifier: Apache-2.0
#include "fault/fault_list.h"

#include <algorithm>

namespace halfsplit::fault {

using circuit::Element;
using circuit::ElementKind;
using circuit::Item;
using circuit::NodeId;
using circuit::PlaceId;

FaultList::FaultList(const circuit::Loom& loom_drawn, const circuit::Netlist& netlist, const RateOverlay& learned)
    : loom(loom_drawn), net(netlist), nets(netlist), learned_(learned) {}

Fault FaultList::start(const Site& site, FaultKind kind, const std::string& suffix, const std::string& what) const {
  const RateRecord& record = rate_of(site.row, kind);
  Fault fault;
  fault.name = site.name + " " + suffix;
  fault.description = site.description + ": " + what;
  fault.kind = kind;
  fault.row = record.item;
  fault.item = site.item;
  fault.place = site.place;
  fault.repair = site.repair;
  fault.rate_per_year =
      record.per_year * learned_.factor(record.item, kind) * learned_.factor(fault.name, kind) * site.rate;
  if (!site.place.is_none()) fault.rate_per_year *= stress_factor(record, loom.places[site.place.index()].stress);
  fault.low = record.low;
  fault.high = record.high;
  fault.logarithmic = record.logarithmic;
  fault.unit = record.unit;
  return fault;
}

void FaultList::put(const Site& site, FaultKind kind, circuit::ElementId element, const std::string& suffix,
                    const std::string& what) {
  Fault fault = start(site, kind, suffix, what);
  fault.element = element;
  put(std::move(fault));
}

void FaultList::put_branch(const Site& site, FaultKind kind, NodeId a, NodeId b, const std::string& suffix,
                           const std::string& what, double share) {
  Fault fault = start(site, kind, suffix, what);
  fault.a = a;
  fault.b = b;
  fault.rate_per_year *= share;
  put(std::move(fault));
}

void FaultList::put_joint(const Site& site, circuit::ElementId element, std::string_view open, std::string_view high,
                          std::string_view intermittent) {
  put(site, FaultKind::kOpen, element, "open", std::string(open));
  put(site, FaultKind::kHighResistance, element, "high", std::string(high));
  put(site, FaultKind::kIntermittent, element, "comes and goes", std::string(intermittent));
}

void FaultList::put_doubled(const Site& site, const Element& terminator) {
  const std::size_t one = nets.find(terminator.a.index());
  const std::size_t other = nets.find(terminator.b.index());
  if (!doubled_.insert({std::min(one, other), std::max(one, other)}).second) return;
  Fault fault = start(site, FaultKind::kDoubled, "doubled", "one terminator too many on this bus");
  fault.a = terminator.a;
  fault.b = terminator.b;
  fault.low = fault.high = terminator.ohm;
  put(std::move(fault));
}

RepairId FaultList::repair(std::string_view row, const std::string& name, PlaceId place, const Item& item,
                           std::optional<double> minutes, std::optional<double> money, const std::string& part,
                           circuit::ConnectorId unplugs) {
  const RepairRecord& record = repair_of(row);
  const std::string full = std::string(record.verb) + " " + name;
  const auto [at, fresh] = repairs_.try_emplace(full, RepairId(universe_.repairs.size()));
  if (fresh)
    universe_.repairs.push_back(
        {full, minutes.value_or(record.minutes), money.value_or(record.part_money), part, place, unplugs, item});
  return at->second;
}

Site FaultList::contact_site(circuit::ConnectorId id, const std::string& cavity) {
  const circuit::Connector& c = loom.connectors[id.index()];
  Site site{c.name + ":" + cavity,
            c.name + " cavity " + cavity,
            Item{Item::Kind::kConnector, id.value, cavity},
            c.place[0],
            c.rate,
            "contact",
            {}};
  site.repair = repair("contact", site.name, site.place, site.item, c.repair_minutes, c.part_money, "terminal", id);
  return site;
}

PlaceId FaultList::place_of(const circuit::Wire& wire) const {
  if (!wire.place.is_none()) return wire.place;
  const circuit::EndPoint& end = wire.from;
  using Kind = circuit::EndPoint::Kind;
  switch (end.kind) {
    case Kind::kCavity:
      return loom.connectors[end.connector.index()].place[end.side];
    case Kind::kSplice:
      return loom.splices[end.splice.index()].place;
    case Kind::kStud:
      return loom.studs[end.stud.index()].place;
    case Kind::kTerminal:
      return loom.parts[end.part.index()].place;
    case Kind::kFrame:
      return loom.frames[end.frame.index()].place;
  }
  return {};
}

bool FaultList::at_ground(NodeId node) {
  return nets.same(node, net.reference) || std::any_of(net.frame_nodes.begin(), net.frame_nodes.end(),
                                                       [&](NodeId frame) { return nets.same(node, frame); });
}

bool FaultList::at_supply(NodeId node) { return !net.supply.is_none() && nets.same(node, net.supply); }

}  // namespace halfsplit::fault
