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
  double drive_v = 0.0, drive_ohm = 0.0;
};

// Between a line and what it hangs on.
struct Branch {
  electrical::Ends ends;
  double volt = 0.0, ohm = 0.0;
};

struct Lines {
  std::vector<Line> all;         // seat by seat: high, then low
  std::vector<Branch> pull_ups;  // LIN's whose diode blocks at rest and conducts as soon as the wire is pulled down
  std::vector<Branch> rests;     // what each line rests through, if there are ways of reading that let go of it
  std::size_t per_seat = 2, seats = 0;  // seats with the reader
  [[nodiscard]] std::size_t high(std::size_t seat) const { return seat * per_seat; }
  [[nodiscard]] std::size_t low(std::size_t seat) const { return seat * per_seat + 1; }
};

// `tap`: the reader sits there; null: where it is drawn.
[[nodiscard]] Lines lines_of(const Scene& scene, CircuitView& view, circuit::BusId bus, const BusTap* tap = nullptr);
// Of each seat's line against ground: its own and its share of the cable's.
[[nodiscard]] double farad_of(const Scene& scene, circuit::BusId bus);
// Of all lines, then of the pull-ups and what is rested through.
[[nodiscard]] std::vector<electrical::Ends> ends_of(const Lines& lines);

}  // namespace halfsplit::predict
