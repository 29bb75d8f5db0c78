// SPDX-License-Identifier: Apache-2.0
#include "fault/at_point.h"

#include <algorithm>

namespace halfsplit::fault {

bool sits_at_point(const circuit::Netlist& netlist, circuit::PointId point, const Fault& fault) {
  using circuit::Element;
  const circuit::NodeId node = netlist.points.at(point.index()).node;
  const auto ends_there = [&](const Element& e) {
    const bool joins = e.kind == circuit::ElementKind::kContact || e.kind == circuit::ElementKind::kJoint;
    return joins && (e.a == node || e.b == node);
  };
  for (const circuit::ElementId id : {fault.element, fault.other})
    if (!id.is_none() && ends_there(netlist.elements.at(id.index()))) return true;
  if (!fault.element.is_none()) return false;
  if (fault.item.kind == circuit::Item::Kind::kSplice) return fault.a == node;  // its b is the metal it leaks to
  if (fault.item.kind != circuit::Item::Kind::kConnector) return false;
  if (fault.a == node || fault.b == node) return true;
  return std::any_of(netlist.elements.begin(), netlist.elements.end(), [&](const Element& e) {
    return e.kind == circuit::ElementKind::kContact && ends_there(e) && (e.a == fault.a || e.a == fault.b);
  });
}

// Wires that touch do so between their own ends: the second wire is known by its own.
bool sits_on_wire(const circuit::Netlist& netlist, circuit::WireId wire, const Fault& fault) {
  if (fault.item.kind != circuit::Item::Kind::kWire) return false;
  if (fault.item.index == wire.value) return true;
  const circuit::NodeId end = netlist.elements.at(netlist.wire_elements.at(wire.index()).index()).b;
  return fault.kind == FaultKind::kTouches && (fault.a == end || fault.b == end);
}

}  // namespace halfsplit::fault
