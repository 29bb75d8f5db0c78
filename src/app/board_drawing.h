// SPDX-License-Identifier: Apache-2.0
// A drawing and the faces of plugs as JSON, for a screen that draws them itself (docs/formats/replies.md, `board`).
#pragma once

#include "app/belief.h"
#include "app/operation.h"
#include "report/drawing.h"

namespace halfsplit::app {

// How likely a fault is at each element of the drawing, by ElementId.
[[nodiscard]] std::vector<double> suspicion_of(const BeliefEngine& engine, const Belief& belief);
[[nodiscard]] Json drawing_json(const LoadedLoom& loom, const report::Drawing& drawing);
// Each plug with its sides, places, cavities as one looks into the face, cautions and minutes.
[[nodiscard]] Json plugs_json(const circuit::Loom& loom, const circuit::Configuration& state);

}  // namespace halfsplit::app
