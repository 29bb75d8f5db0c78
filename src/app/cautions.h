// SPDX-License-Identifier: Apache-2.0
// What to mind where the act is: from hazards and places of the drawing, and of the tool itself.
#pragma once

#include <string>
#include <vector>

#include "app/loaded_loom.h"
#include "candidates/generate.h"

namespace halfsplit::app {

[[nodiscard]] std::string hazard_caution(circuit::Hazard hazard);
// Of the tool itself: hot air, cold spray. Empty for the others.
[[nodiscard]] std::string tool_caution(evidence::Kind kind);
// For touching a point.
[[nodiscard]] std::vector<std::string> cautions_at(const circuit::Loom& loom, const circuit::Point& point);
// Of a test: its tool, its points, and what stays dangerous while it is in force (`state`: what is made already).
[[nodiscard]] std::vector<std::string> test_cautions(const LoadedLoom& loom, const circuit::Configuration& state,
                                                     const candidates::Candidate& candidate);
[[nodiscard]] std::vector<std::string> repair_cautions(const LoadedLoom& loom,
                                                       const std::vector<fault::RepairId>& repairs);
// For leaving a vehicle of which this may still be wrong.
[[nodiscard]] std::vector<std::string> leaving_cautions(const LoadedLoom& loom,
                                                        const std::vector<fault::RepairId>& repairs);

}  // namespace halfsplit::app
