// SPDX-License-Identifier: Apache-2.0
#include "circuit/oddity_bus_lines.h"

#include <map>

#include "circuit/metal.h"

namespace halfsplit::circuit {

namespace {

// The net that most seats name; the smallest of several.
std::size_t most_named(const std::map<std::size_t, std::size_t>& votes) {
  std::size_t best = BusLines::kNoNet, most = 0;
  for (const auto& [net, count] : votes) {
    if (count <= most) continue;
    most = count;
    best = net;
  }
  return best;
}

}  // namespace

BusLines::BusLines(const Loom& loom, const Netlist& netlist)
    : nets_(label_nets(netlist)),
      wired_(netlist.node_count(), 0),
      pole_(netlist.node_count(), 0),
      lines_(loom.buses.size()),
      drawn_(loom.buses.size()) {
  for (const ElementId wire : netlist.wire_elements) wired_[nets_[netlist.elements[wire.index()].a.index()]] = 1;
  for (const NodeId frame : netlist.frame_nodes) pole_[nets_[frame.index()]] = 1;
  if (!netlist.supply.is_none()) pole_[nets_[netlist.supply.index()]] = 1;
  for (std::size_t b = 0; b < loom.buses.size(); ++b) {
    std::map<std::size_t, std::size_t> high, low;
    for (const std::size_t s : netlist.buses[b].seats) {
      const Transceiver& seat = netlist.transceivers[s];
      if (is_wired(net(seat.high))) ++high[net(seat.high)];
      if (is_wired(net(seat.low))) ++low[net(seat.low)];
      if (is_wired(net(seat.high)) || is_wired(net(seat.low))) drawn_[b].push_back(&seat);
    }
    lines_[b] = {most_named(high), most_named(low)};
  }
}

base::Span bus_place(const Loom& loom, std::size_t bus) {
  if (loom.buses[bus].declared) return loom.buses[bus].where;
  for (const Module& module : loom.modules)
    for (const ModulePin& pin : module.pins)
      if (pin.bus == BusId(bus)) return pin.where;
  return {};
}

}  // namespace halfsplit::circuit
