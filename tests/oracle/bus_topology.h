// SPDX-License-Identifier: Apache-2.0
// A made-up bus of 3 to 12 modules (a truck-trailer link: 2) with faults, written down twice from the same draws: as a
// loom for the program, and as the resistors, sources and seats that docs/formats/loom.md and buses.md say it is, for
// ngspice (bus_deck.h). Nothing of the netlist of the program is used. Units: V, ohm, m.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "circuit/configuration.h"
#include "circuit/loom.h"

namespace halfsplit::oracle {

struct PlainResistor {
  std::string a, b;
  double ohm = 0.0;
  double metres = 0.0;  // of a wire
  bool high = true;     // which line of the bus; `pair`: the other wire of the twisted pair
  std::string pair;
};

// A module as it sits on the bus. Nodes: "NAME g", "NAME s", pins "NAME:3@unit" and "NAME:4@unit".
struct PlainSeat {
  std::string name;
  bool fed = true;                              // its supply is there
  bool drawn = false;                           // its supply comes over wires, not from a source of its own
  bool dead = false;                            // by a fault
  bool mute = false;                            // on the bus, by a fault
  bool holds = false;                           // the bus, by a fault
  double draw_ohm = 0;                          // own draw
  double input_ohm = 0.0, unpowered_ohm = 0.0;  // 0: not said
  bool commander = false;
};

struct BusTopology {
  circuit::BusKind kind = circuit::BusKind::kCan;
  double bit_rate = 250.0;
  circuit::Loom loom;
  circuit::Configuration state;
  std::vector<std::pair<std::string, double>> faults;  // names of the page, severities in their unit
  std::map<std::string, PlainResistor> resistors;      // by the name of the loom's element; with the faults in
  std::vector<PlainSeat> seats;
  double cable_m = 0.0;  // of the high line
  std::string about;     // kind, seats, faults: for messages
  std::string class_;    // of the worst thing about it: "sound", "no terminator", "high resistance", ...
};

[[nodiscard]] BusTopology random_bus(std::uint64_t seed);
// With at most one fault, a CAN bus at 250 or 500 kbit/s.
[[nodiscard]] BusTopology random_bus_for_edges(std::uint64_t seed);

}  // namespace halfsplit::oracle
