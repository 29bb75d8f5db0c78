// SPDX-License-Identifier: Apache-2.0
// The lines of each bus as metal makes them: which nodes wires, contacts and joints join to its pins, how much wire
// there is. Internal to the room.
#pragma once

#include <vector>

#include "circuit/netlist.h"

namespace halfsplit::circuit {

// By BusId. The netlist has its elements and seats.
[[nodiscard]] std::vector<BusWiring> wire_buses(const Loom& loom, const Netlist& netlist);

}  // namespace halfsplit::circuit
