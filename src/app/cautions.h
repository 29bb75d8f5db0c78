// SPDX-License-Identifier: Apache-2.0
// What to mind where the act is: from hazards and places of the drawing, and of the tool itself.
#pragma once

#include <string>
#include <vector>

#include "app/loaded_loom.h"
#include "candidates/generate.h"

namespace halfsplit::app {

// Of the tool itself: hot air, cold spray. Empty for the others.
[[nodiscard]] std::string tool_caution(evidence::Kind kind);
// For touching a point.
[[nodiscard]] std::vector<std::string> cautions_at(const circuit::Loom& loom, const circuit::Point& point);
// For working on a thing: a wire, a plug, a part.
[[nodiscard]] std::vector<std::string> cautions_of(const circuit::Loom& loom, const circuit::Item& item);
// Of doing or undoing an act, where the hands are.
[[nodiscard]] std::vector<std::string> act_cautions(const LoadedLoom& loom, const candidates::Act& act, bool make);
// Of the places where an act is done, which its record leaves out.
[[nodiscard]] std::vector<std::string> place_cautions(const circuit::Loom& loom, const candidates::Act& act);
// For a reading that somebody takes by himself: the hazards at its probes.
[[nodiscard]] std::vector<std::string> probe_cautions(const LoadedLoom& loom, const evidence::Observable& what);
// "  ! ..." each.
[[nodiscard]] std::string caution_lines(const std::vector<std::string>& cautions);
// Of a test: its tool, its points, and what stays dangerous while it is in force (`state`: what is made already).
[[nodiscard]] std::vector<std::string> test_cautions(const LoadedLoom& loom, const circuit::Configuration& state,
                                                     const candidates::Candidate& candidate);
[[nodiscard]] std::vector<std::string> repair_cautions(const LoadedLoom& loom,
                                                       const std::vector<fault::RepairId>& repairs);
// For leaving a vehicle of which this may still be wrong.
[[nodiscard]] std::vector<std::string> leaving_cautions(const LoadedLoom& loom,
                                                        const std::vector<fault::RepairId>& repairs);
// No caution, no hazard, nothing that is raised or opened to get anywhere: nobody has thought of what may hurt.
[[nodiscard]] bool warns_of_nothing(const circuit::Loom& loom);

}  // namespace halfsplit::app
