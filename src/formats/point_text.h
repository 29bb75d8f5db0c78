// SPDX-License-Identifier: Apache-2.0
// Points as they are written on the drawing and on the command line: "J4:12@cab", "BCM.A:14", "B7:1@unit", "S5",
// "chassis" (docs/formats/loom.md, Points). Reads them against a Loom and writes them back.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "circuit/loom.h"

namespace halfsplit::formats {

struct TypedPoint {
  circuit::EndPoint end;
  // False: an inline connector's cavity written without its side; `end.side` is then 0, and both sides are meant while
  // it is mated. Always true for everything else (a module's or part's plug without a side means its loom side).
  bool side_given = true;
};

// Errors: point.bad-point, point.unknown-point, point.unknown-plug, point.unknown-cavity, point.unknown-side,
// point.cavity-missing, point.not-a-plug; the message names the text, the hint the nearest names.
[[nodiscard]] base::Result<TypedPoint> read_point(const circuit::Loom& loom, std::string_view text);

// Canonical text: an inline cavity with its side, a plug's loom side without, its unit side with "@unit".
[[nodiscard]] std::string format_end_point(const circuit::Loom& loom, const circuit::EndPoint& end);

// "BCM.A", "BCM" or "J4": a connector's name as it is written before the ':'.
[[nodiscard]] std::string format_connector(const circuit::Loom& loom, circuit::ConnectorId connector);

}  // namespace halfsplit::formats
