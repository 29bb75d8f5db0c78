// SPDX-License-Identifier: Apache-2.0
// Where a bus can be met with a meter or a scope: the plugs that carry both of its lines. Internal to the room.
#pragma once

#include <vector>

#include "candidates/generate.h"

namespace halfsplit::candidates {

struct BusPlug {
  struct Pair {
    circuit::PointId high, low;  // on one side of the plug
  };
  circuit::BusId bus;
  circuit::ConnectorId connector;
  std::vector<Pair> pairs;
  bool parts_bus = false;       // it can be taken apart, and then somebody is off the bus
  std::vector<Pair> elsewhere;  // where the bus is watched with this plug apart: the reader's plug, else the first
};

// Of the buses that `points` (what has to do with the suspects) lie on; two-wire buses only.
[[nodiscard]] std::vector<BusPlug> find_bus_plugs(const GenerateInput& input,
                                                  const std::vector<circuit::PointId>& points);

}  // namespace halfsplit::candidates
