// SPDX-License-Identifier: Apache-2.0
// Which faults sit where hands and eyes get to.
#pragma once

#include "fault/fault.h"

namespace halfsplit::fault {

// Does it sit on the run of this wire: in the wire itself, or where it and another of its bundle touch?
[[nodiscard]] bool sits_on_wire(const circuit::Netlist& netlist, circuit::WireId wire, const Fault& fault);

// Does it sit in a contact or joint that ends at this point, between that contact and its neighbour in the plug, or in
// the splice that is this point?
[[nodiscard]] bool sits_at_point(const circuit::Netlist& netlist, circuit::PointId point, const Fault& fault);

}  // namespace halfsplit::fault
