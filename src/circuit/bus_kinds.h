// SPDX-License-Identifier: Apache-2.0
// What each kind of bus puts on its wires and makes of what it reads there (docs/formats/buses.md, "Circuit" and "Who
// reads whom"). Units: V, ohm, F, kbit/s. Levels that go with the supply are given for 24 V and scaled by the loom's
// system volts. Sources: ISO 11898-2:2016, ISO 11898-3, SAE J2411, ISO 11992-1, ISO 17987-4, with the data sheets named
// in the project's tables of facts; where only a level is given, the source and resistance that make it are ours.
#pragma once

#include <span>
#include <string_view>

#include "circuit/loom.h"

namespace halfsplit::circuit {

// One wire of a bus: at rest a rail of `rest_v` behind `rest_ohm`, driven a rail of `drive_v` behind `drive_ohm`, both
// against the module's inner ground.
struct BusLine {
  double rest_v = 0.0, rest_ohm = 0.0;
  double drive_v = 0.0, drive_ohm = 0.0;
};

// One way of reading: dominant when high * V(high) + low * V(low) > threshold, volts against the reader's own inner
// ground. `spread`: one sigma of the threshold, taking in the drivers' own spread (ours).
struct BusReading {
  double high = 1.0, low = -1.0;
  double threshold = 0.0, spread = 0.0;
  bool drives_high = true, drives_low = true;  // the lines a transmitter uses in this way
  bool rests_high = true, rests_low = true;    // false: every node lets go of that line (its rest_ohm is open)
};

struct BusKindRecord {
  BusKind kind;
  std::string_view word;  // as in the loom
  std::string_view standard;
  bool two_wires;
  double bit_rate, sample_percent;
  BusLine high, low;                     // one wire: `high`
  std::span<const BusReading> readings;  // tried in order: a link works if one of them reads it
  double common_low_v, common_high_v;    // mean of the two lines against the reader's ground; beyond: nothing is read
  double node_farad;                     // between the lines (one wire: to ground), at each node
  double cable_farad_per_m;
  bool scales;  // volts go with the system volts
};

[[nodiscard]] std::span<const BusKindRecord> bus_kinds();
[[nodiscard]] const BusKindRecord& bus_kind(BusKind kind);
// Of a kind that scales, volts given for 24 V as they are at these system volts.
[[nodiscard]] double bus_volts(const BusKindRecord& kind, double volts, double system_volts);

}  // namespace halfsplit::circuit
