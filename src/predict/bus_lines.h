// SPDX-License-Identifier: Apache-2.0
// The lines of a bus as pairs of nodes that current can be put in between, with what rests on them and what drives
// them. Internal to the room. Units: V, ohm.
#pragma once

#include <vector>

#include "electrical/transfers.h"
#include "predict/observe.h"

namespace halfsplit::predict {

constexpr double kRailOhm = 0.001;  // of a module's inner rails

// One line of one seat: a pair of nodes that current can be put in between.
struct Line {
  std::size_t seat = 0;
  electrical::Ends ends;
  double rest_v = 0.0, rest_ohm = 0.0;  // what the node's own bias is; ohm 0: none
  double drive_v = 0.0, drive_ohm = 0.0;
  // A LIN pull-up whose diode blocks at rest: what it becomes as soon as the wire is pulled down. ohm 0: none.
  double pull_up_v = 0.0, pull_up_ohm = 0.0;
};

struct Lines {
  std::vector<Line> all;                // seat by seat: high, then low
  std::size_t per_seat = 2, seats = 0;  // seats with the reader
  [[nodiscard]] std::size_t high(std::size_t seat) const { return seat * per_seat; }
  [[nodiscard]] std::size_t low(std::size_t seat) const { return seat * per_seat + 1; }
};

// `tap`: the reader sits there; null: where it is drawn.
[[nodiscard]] Lines lines_of(const Scene& scene, CircuitView& view, circuit::BusId bus, const BusTap* tap = nullptr);
// Of each seat's line against ground: its own and its share of the cable's.
[[nodiscard]] double farad_of(const Scene& scene, circuit::BusId bus);
[[nodiscard]] std::vector<electrical::Ends> ends_of(const Lines& lines);

}  // namespace halfsplit::predict
