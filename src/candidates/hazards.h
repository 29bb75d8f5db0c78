// SPDX-License-Identifier: Apache-2.0
// What is dangerous where: a thing's own hazard, that of its place, that of the whole vehicle. All of them count; a
// brake valve of a dangerous goods vehicle is both.
#pragma once

#include <string>
#include <vector>

#include "circuit/netlist.h"

namespace halfsplit::candidates {

// Each once, the thing's own first; of a plug of a part or module that of its owner when it has none.
[[nodiscard]] std::vector<circuit::Hazard> hazards_at(const circuit::Loom& loom, const circuit::Point& point);
[[nodiscard]] std::vector<circuit::Hazard> hazards_of(const circuit::Loom& loom, const circuit::Item& item);

[[nodiscard]] bool carries(const circuit::Loom& loom, const circuit::Point& point, circuit::Hazard hazard);
[[nodiscard]] bool carries(const circuit::Loom& loom, const circuit::Item& item, circuit::Hazard hazard);

// What to mind of it; empty for none.
[[nodiscard]] std::string hazard_caution(circuit::Hazard hazard);

}  // namespace halfsplit::candidates
