// SPDX-License-Identifier: Apache-2.0
#include "candidates/bus_tests.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

#include "circuit/bus_kinds.h"

namespace halfsplit::candidates {

namespace {

using circuit::BusId;
using circuit::ConnectorId;
using circuit::ElementKind;
using circuit::PointId;

// Which line of the bus metal joins a node to: 1 high, 2 low, 3 both (shorted as drawn), 0 neither.
std::vector<char> lines_of_bus(const circuit::Netlist& net, const circuit::BusWiring& bus) {
  std::vector<std::size_t> label(net.node_count());
  std::iota(label.begin(), label.end(), std::size_t{0});
  const auto find = [&](std::size_t n) {
    while (label[n] != n) n = label[n] = label[label[n]];
    return n;
  };
  for (const circuit::Element& e : net.elements)
    if (e.kind == ElementKind::kWire || e.kind == ElementKind::kContact || e.kind == ElementKind::kJoint)
      label[find(e.a.index())] = find(e.b.index());
  std::vector<char> line(net.node_count(), 0);
  for (const std::size_t s : bus.seats) {
    line[find(net.transceivers[s].high.index())] |= 1;
    if (!net.transceivers[s].low.is_none()) line[find(net.transceivers[s].low.index())] |= 2;
  }
  std::vector<char> by_node(net.node_count());
  for (std::size_t n = 0; n < by_node.size(); ++n) by_node[n] = line[find(n)];
  return by_node;
}

// Both lines on one side of a plug.
std::vector<BusPlug> plugs_of(const GenerateInput& input, BusId bus, const std::vector<char>& line) {
  std::map<std::pair<ConnectorId, std::uint8_t>, BusPlug::Pair> sides;
  for (std::size_t i = 0; i < input.netlist.points.size(); ++i) {
    const circuit::Point& p = input.netlist.points[i];
    if (p.connector.is_none() || !p.probe || p.needs_unplugged) continue;
    const char which = line[p.node.index()];
    if (which == 1) sides[{p.connector, p.side}].high = PointId(i);
    if (which == 2) sides[{p.connector, p.side}].low = PointId(i);
  }
  std::vector<BusPlug> plugs;
  for (const auto& [where, pair] : sides) {
    if (pair.high.is_none() || pair.low.is_none()) continue;
    if (plugs.empty() || plugs.back().connector != where.first) {
      BusPlug plug;
      plug.bus = bus;
      plug.connector = where.first;
      plug.parts_bus = input.loom.connectors[where.first.index()].pluggable;
      plugs.push_back(std::move(plug));
    }
    plugs.back().pairs.push_back(pair);
  }
  return plugs;
}

}  // namespace

std::vector<BusPlug> find_bus_plugs(const GenerateInput& input, const std::vector<PointId>& points) {
  std::vector<BusPlug> all;
  for (std::size_t b = 0; b < input.netlist.buses.size(); ++b) {
    const circuit::BusWiring& bus = input.netlist.buses[b];
    if (!circuit::bus_kind(bus.kind).two_wires || bus.seats.empty()) continue;
    const bool matters = std::any_of(points.begin(), points.end(), [&](PointId p) {
      return bus.on_line[input.netlist.points[p.index()].node.index()] != 0;
    });
    if (!matters) continue;
    std::vector<BusPlug> plugs = plugs_of(input, BusId(b), lines_of_bus(input.netlist, bus));
    const auto at_reader = [&](const BusPlug& plug) {
      return std::any_of(plug.pairs.begin(), plug.pairs.end(), [&](const BusPlug::Pair& pair) {
        return input.netlist.points[pair.high.index()].node == bus.reader_high;
      });
    };
    const auto watched = std::find_if(plugs.begin(), plugs.end(), at_reader);
    for (BusPlug& plug : plugs) {
      const auto& from = watched == plugs.end() ? plugs.front() : *watched;
      if (from.connector != plug.connector) plug.elsewhere = {from.pairs.front()};
    }
    all.insert(all.end(), plugs.begin(), plugs.end());
  }
  return all;
}

}  // namespace halfsplit::candidates
