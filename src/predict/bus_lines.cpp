// SPDX-License-Identifier: Apache-2.0
#include "predict/bus_lines.h"

#include <optional>

#include "circuit/bus_kinds.h"

namespace halfsplit::predict {

using circuit::BusId;
using circuit::BusKindRecord;
using circuit::NodeId;
using circuit::Transceiver;
using electrical::Ends;

namespace {

Line line_of(const Scene& scene, const Transceiver& seat, std::size_t index, bool high) {
  const BusKindRecord& kind = circuit::bus_kind(scene.loom.buses.at(seat.bus.index()).kind);
  const circuit::BusLine& record = high ? kind.high : kind.low;
  const double volts = scene.loom.system_volts;
  Line line;
  line.seat = index;
  line.ends = {high ? seat.high : seat.low, scene.netlist.modules.at(seat.module.index()).ground};
  line.drive_v = circuit::bus_volts(kind, record.drive_v, volts);
  line.drive_ohm = record.drive_ohm + kRailOhm;
  return line;
}

Branch rest_of(const Scene& scene, circuit::ElementId receiver) {
  const circuit::Element& element = scene.netlist.elements.at(receiver.index());
  return {{element.a, element.b}, 0.0, element.ohm};
}

// A driven wire lies below half of the supply, so what hangs on more pulls up, whether its module works or not.
std::optional<Branch> pull_up_of(const Scene& scene, CircuitView& view, const Transceiver& seat) {
  if (seat.pull_up_diode.is_none() || view.on(seat.pull_up_diode.index())) return std::nullopt;
  const NodeId supply = scene.netlist.modules.at(seat.module.index()).supply;
  const Ends over_ground{supply, scene.netlist.reference};
  if (view.transfers({&over_ground, 1}, {}).open.front() <= scene.loom.system_volts / 2.0) return std::nullopt;
  const circuit::Element& diode = scene.netlist.elements.at(seat.pull_up_diode.index());
  const circuit::Element& receiver = scene.netlist.elements.at(seat.bias_high.index());
  return Branch{{seat.high, supply}, -diode.volt, receiver.ohm + diode.ohm};
}

}  // namespace

Lines lines_of(const Scene& scene, CircuitView& view, BusId bus, const BusTap* tap) {
  const circuit::BusWiring& wiring = scene.netlist.buses.at(bus.index());
  const BusKindRecord& kind = circuit::bus_kind(wiring.kind);
  Lines lines;
  lines.per_seat = kind.two_wires ? 2 : 1;
  for (const std::size_t s : wiring.seats) {
    const Transceiver& seat = scene.netlist.transceivers[s];
    lines.all.push_back(line_of(scene, seat, lines.seats, true));
    if (kind.two_wires) lines.all.push_back(line_of(scene, seat, lines.seats, false));
    if (kind.readings.size() > 1) {
      lines.rests.push_back(rest_of(scene, seat.bias_high));
      if (kind.two_wires) lines.rests.push_back(rest_of(scene, seat.bias_low));
    }
    if (const std::optional<Branch> pull_up = pull_up_of(scene, view, seat)) lines.pull_ups.push_back(*pull_up);
    ++lines.seats;
  }
  const NodeId reader_high = tap == nullptr ? wiring.reader_high : tap->high;
  const NodeId reader_low = tap == nullptr ? wiring.reader_low : tap->low;
  if (reader_high.is_none()) return lines;
  const auto reader = [&](NodeId node, const circuit::BusLine& line) {
    lines.all.push_back({lines.seats,
                         {node, scene.netlist.reference},
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
  for (const Branch& pull_up : lines.pull_ups) ends.push_back(pull_up.ends);
  for (const Branch& rest : lines.rests) ends.push_back(rest.ends);
  return ends;
}

}  // namespace halfsplit::predict
