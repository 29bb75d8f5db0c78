// SPDX-License-Identifier: Apache-2.0
// What a hop of a run joins: where the wire before it arrives and where the wire behind it leaves.
#pragma once

#include <cstdint>
#include <variant>

#include "circuit/loom.h"
#include "formats/point_index.h"
#include "formats/text_problem.h"

namespace halfsplit::formats {

struct HopEnds {
  circuit::EndPoint arrive, leave;
};

enum class HopPlace : std::uint8_t { kFirst, kMiddle, kLast };

// Problems: those of points, run-through, unit-side.
[[nodiscard]] std::variant<HopEnds, TextProblem> find_hop(PointIndex& index, const PointPieces& pieces, HopPlace place);

// The end of a single wire, as [wires.NAME] writes it: an inline connector needs its side.
[[nodiscard]] std::variant<circuit::EndPoint, TextProblem> find_wire_end(PointIndex& index, const PointPieces& pieces);

}  // namespace halfsplit::formats
