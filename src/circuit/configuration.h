// SPDX-License-Identifier: Apache-2.0
// The state the technician has put the vehicle into: setups made, plugs apart, things fitted, parts swapped. Plain
// values with an order, so that equal configurations compare equal whatever the order they were made in.
#pragma once

#include <set>
#include <string>
#include <tuple>

#include "circuit/loom.h"
#include "circuit/netlist_ids.h"

namespace halfsplit::circuit {

// Something put between two points: a stand-in resistor, a bypass lead, a spare terminator.
struct Fitted {
  enum class Kind : std::uint8_t { kStandIn, kLead };
  Kind kind = Kind::kLead;
  PointId a, b;      // a < b
  double ohm = 0.0;  // kStandIn: its value; kLead: 0, the lead's own resistance is added (kLeadOhm)
  friend auto operator<=>(const Fitted&, const Fitted&) = default;
};

struct Configuration {
  std::set<SetupId> made;
  std::set<ConnectorId> unplugged;
  std::set<Fitted> fitted;
  std::set<PartId> swapped_parts;  // a known-good one is in its place
  std::set<ModuleId> swapped_modules;
  friend bool operator==(const Configuration&, const Configuration&) = default;
  friend auto operator<=>(const Configuration&, const Configuration&) = default;
};

constexpr double kLeadOhm = 0.05;  // a bypass or extension lead (common practice)

}  // namespace halfsplit::circuit
