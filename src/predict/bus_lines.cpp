// SPDX-License-Identifier: Apache-2.0
#include "predict/bus_lines.h"

#include "circuit/bus_kinds.h"

namespace halfsplit::predict {

using circuit::BusId;
using circuit::BusKindRecord;
using circuit::NodeId;
using circuit::Transceiver;
using electrical::Ends;

namespace {

Line line_of(const Scene& scene, CircuitView& view, const Transceiver& seat, std::size_t index, bool high) {
  const BusKindRecord& kind = circuit::bus_kind(scene.loom.buses.at(seat.bus.index()).kind);
  const circuit::BusLine& record = high ? kind.high : kind.low;
  const double volts = scene.loom.system_volts;
  Line line;
  line.seat = index;
  line.ends = {high ? seat.high : seat.low, scene.netlist.modules.at(seat.module.index()).ground};
  const circuit::Element& bias = scene.netlist.elements.at((high ? seat.bias_high : seat.bias_low).index());
  const bool alive = view.alive(seat.module);
  line.rest_v = alive ? circuit::bus_volts(kind, record.rest_v, volts) : 0.0;
  line.rest_ohm = bias.ohm + (alive ? kRailOhm : scene.loom.defaults.off_ohm);
  line.drive_v = circuit::bus_volts(kind, record.drive_v, volts);
  line.drive_ohm = record.drive_ohm + kRailOhm;
  if (seat.pull_up_diode.is_none() || !alive || view.on(seat.pull_up_diode.index())) return line;
  const circuit::Element& diode = scene.netlist.elements.at(seat.pull_up_diode.index());
  const Ends supply{scene.netlist.modules.at(seat.module.index()).supply, line.ends.black};
  line.pull_up_v = view.transfers({&supply, 1}, {}).open.front() - diode.volt;
  line.pull_up_ohm = bias.ohm + diode.ohm;
  return line;
}

}  // namespace

Lines lines_of(const Scene& scene, CircuitView& view, BusId bus, const BusTap* tap) {
  const circuit::BusWiring& wiring = scene.netlist.buses.at(bus.index());
  const BusKindRecord& kind = circuit::bus_kind(wiring.kind);
  Lines lines;
  lines.per_seat = kind.two_wires ? 2 : 1;
  for (const std::size_t s : wiring.seats) {
    const Transceiver& seat = scene.netlist.transceivers[s];
    lines.all.push_back(line_of(scene, view, seat, lines.seats, true));
    if (kind.two_wires) lines.all.push_back(line_of(scene, view, seat, lines.seats, false));
    ++lines.seats;
  }
  const NodeId reader_high = tap == nullptr ? wiring.reader_high : tap->high;
  const NodeId reader_low = tap == nullptr ? wiring.reader_low : tap->low;
  if (reader_high.is_none()) return lines;
  const auto reader = [&](NodeId node, const circuit::BusLine& line) {
    lines.all.push_back({lines.seats,
                         {node, scene.netlist.reference},
                         0.0,
                         0.0,
                         circuit::bus_volts(kind, line.drive_v, scene.loom.system_volts),
                         line.drive_ohm + kRailOhm});
  };
  reader(reader_high, kind.high);
  if (kind.two_wires) reader(reader_low, kind.low);
  ++lines.seats;
  return lines;
}

double farad_of(const Scene& scene, BusId bus) {
  const circuit::BusWiring& wiring = scene.netlist.buses.at(bus.index());
  const BusKindRecord& kind = circuit::bus_kind(wiring.kind);
  return kind.node_farad + kind.cable_farad_per_m * wiring.cable_m / static_cast<double>(wiring.seats.size());
}

std::vector<Ends> ends_of(const Lines& lines) {
  std::vector<Ends> ends;
  for (const Line& line : lines.all) ends.push_back(line.ends);
  return ends;
}

}  // namespace halfsplit::predict
