// SPDX-License-Identifier: Apache-2.0
// What is known of a bus in one circuit, as values (docs/formats/buses.md; bus.h works them out). Units: V, A, s.
#pragma once

#include <cstddef>
#include <set>
#include <utility>
#include <vector>

#include "can/traffic.h"
#include "circuit/loom.h"
#include "circuit/netlist_ids.h"

namespace halfsplit::predict {

// What faults do on buses, the circuit aside.
struct BusFlags {
  std::set<std::pair<circuit::ModuleId, circuit::BusId>> mute, babbles;
  std::set<circuit::ModuleId> pass_nothing;
};

// Levels at every seat of a bus, in the order of BusWiring::seats; the drawn reader last. Volts against the seat's own
// inner ground (the reader: the reference node). One-wire buses: `low` is 0 throughout.
struct BusLevels {
  std::size_t seats = 0;
  std::vector<double> rest_high, rest_low;
  std::vector<double> driven_high, driven_low;  // [sender * seats + receiver]
  std::vector<double> tau_s;                    // by receiver
  std::vector<double> ampere_high, ampere_low;  // by sender: what it puts into its lines (out of them: below 0)
  std::vector<double> ampere_pull_up;           // [sender * pull-ups + pull-up], of LIN: put into the wire while driven
};
// Where a recording was made, when that is not at the drawn reader: nodes of the lines, `low` none on one-wire buses.
struct BusTap {
  circuit::BusId bus;
  circuit::NodeId high, low;
  friend auto operator<=>(const BusTap&, const BusTap&) = default;
};

struct BusPicture {
  BusLevels levels;       // in the first way of reading
  bool reader = false;    // is there one drawn on this bus
  std::size_t seats = 0;  // without it
  // [sender * seats + receiver]; with the reader on the bus: [sender * (seats + 1) + receiver], the reader last.
  std::vector<double> arrives, arrives_with_reader;
  std::vector<can::Standing> standing;  // by seat, at the middle threshold
  std::vector<double> busy;             // as can::Traffic::busy
  // [sender * seats + receiver], in volts: how far both levels are on the right side of the threshold, the best way of
  // reading.
  std::vector<double> margin;
};

}  // namespace halfsplit::predict
