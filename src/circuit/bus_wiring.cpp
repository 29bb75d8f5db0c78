// SPDX-License-Identifier: Apache-2.0
#include "circuit/bus_wiring.h"

#include "circuit/metal.h"

namespace halfsplit::circuit {

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
    std::vector<std::uint8_t> by_net(netlist.node_count(), 0);
    for (const std::size_t s : bus.seats) {
      const Transceiver& seat = netlist.transceivers[s];
      by_net[label[seat.high.index()]] |= BusWiring::kHigh;
      if (!seat.low.is_none()) by_net[label[seat.low.index()]] |= BusWiring::kLow;
    }
    for (const std::size_t net : label) bus.line.push_back(by_net[net]);
    for (std::size_t w = 0; w < loom.wires.size(); ++w)
      if ((bus.line[netlist.elements[netlist.wire_elements[w].index()].a.index()] & BusWiring::kHigh) != 0)
        bus.cable_m += wire_metres(loom, w);
    bus.reader_high = reader_node(netlist, loom, loom.buses[b].reader_high);
    bus.reader_low = reader_node(netlist, loom, loom.buses[b].reader_low);
  }
  return buses;
}

}  // namespace halfsplit::circuit
