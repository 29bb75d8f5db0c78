// SPDX-License-Identifier: Apache-2.0
#include "candidates/bus_tests.h"

#include <algorithm>
#include <map>
#include <utility>

#include "circuit/bus_kinds.h"

namespace halfsplit::candidates {

namespace {

using circuit::BusId;
using circuit::ConnectorId;
using circuit::PointId;

// Both lines on one side of a plug.
std::vector<BusPlug> plugs_of(const GenerateInput& input, BusId bus) {
  const std::vector<std::uint8_t>& line = input.netlist.buses[bus.index()].line;
  std::map<std::pair<ConnectorId, std::uint8_t>, BusPlug::Pair> sides;
  for (std::size_t i = 0; i < input.netlist.points.size(); ++i) {
    const circuit::Point& p = input.netlist.points[i];
    if (p.connector.is_none() || !p.probe || p.needs_unplugged) continue;
    const std::uint8_t which = line[p.node.index()];
    if (which == circuit::BusWiring::kHigh) sides[{p.connector, p.side}].high = PointId(i);
    if (which == circuit::BusWiring::kLow) sides[{p.connector, p.side}].low = PointId(i);
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
      return bus.line[input.netlist.points[p.index()].node.index()] != 0;
    });
    if (!matters) continue;
    std::vector<BusPlug> plugs = plugs_of(input, BusId(b));
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
