// SPDX-License-Identifier: Apache-2.0
#include "circuit/bus_wiring.h"

#include <numeric>
#include <string>

#include "circuit/bus_kinds.h"

namespace halfsplit::circuit {

bool is_metal(ElementKind kind) {
  return kind == ElementKind::kWire || kind == ElementKind::kContact || kind == ElementKind::kJoint;
}

std::vector<std::size_t> label_nets(const Netlist& netlist) {
  std::vector<std::size_t> parent(netlist.node_count());
  std::iota(parent.begin(), parent.end(), std::size_t{0});
  const auto find = [&](std::size_t n) {
    while (parent[n] != n) n = parent[n] = parent[parent[n]];
    return n;
  };
  for (const Element& e : netlist.elements)
    if (is_metal(e.kind)) parent[find(e.a.index())] = find(e.b.index());
  for (std::size_t n = 0; n < parent.size(); ++n) parent[n] = find(n);
  return parent;
}

namespace {

double wire_metres(const Loom& loom, std::size_t wire) {
  return loom.wires[wire].length_m.value_or(loom.defaults.wire_length_m);
}

NodeId reader_node(const Netlist& netlist, const Loom& loom, const std::optional<EndPoint>& end) {
  if (!end) return {};
  const auto found = netlist.point_by_name.find(end_point_name(loom, *end));
  return found == netlist.point_by_name.end() ? NodeId() : netlist.points[found->second.index()].node;
}

}  // namespace

std::vector<BusWiring> wire_buses(const Loom& loom, const Netlist& netlist) {
  std::vector<BusWiring> buses(loom.buses.size());
  if (buses.empty()) return buses;
  const std::vector<std::size_t> label = label_nets(netlist);
  for (std::size_t s = 0; s < netlist.transceivers.size(); ++s)
    buses[netlist.transceivers[s].bus.index()].seats.push_back(s);
  for (std::size_t b = 0; b < buses.size(); ++b) {
    BusWiring& bus = buses[b];
    bus.kind = loom.buses[b].kind;
    std::vector<char> line(netlist.node_count(), 0);
    std::vector<char> high(netlist.node_count(), 0);
    for (const std::size_t s : bus.seats) {
      const Transceiver& seat = netlist.transceivers[s];
      high[label[seat.high.index()]] = line[label[seat.high.index()]] = 1;
      if (!seat.low.is_none()) line[label[seat.low.index()]] = 1;
    }
    bus.on_line.resize(netlist.node_count());
    for (std::size_t n = 0; n < label.size(); ++n) bus.on_line[n] = line[label[n]];
    for (std::size_t w = 0; w < loom.wires.size(); ++w)
      if (high[label[netlist.elements[netlist.wire_elements[w].index()].a.index()]] != 0)
        bus.cable_m += wire_metres(loom, w);
    bus.reader_high = reader_node(netlist, loom, loom.buses[b].reader_high);
    bus.reader_low = reader_node(netlist, loom, loom.buses[b].reader_low);
  }
  return buses;
}

}  // namespace halfsplit::circuit
