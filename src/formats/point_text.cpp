// SPDX-License-Identifier: Apache-2.0
#include "formats/point_text.h"

#include <utility>
#include <variant>

#include "circuit/netlist.h"
#include "formats/point_index.h"

namespace halfsplit::formats {

namespace {

base::Diagnostic to_error(const TextProblem& problem) {
  return base::make_error("point." + problem.code, problem.message, problem.hint);
}

}  // namespace

base::Result<TypedPoint> read_point(const circuit::Loom& loom, std::string_view text) {
  const std::variant<PointPieces, TextProblem> split = split_point(text);
  if (const auto* bad = std::get_if<TextProblem>(&split)) return to_error(*bad);
  PointIndex index(loom);
  const std::variant<FoundPoint, TextProblem> found = index.find_point(std::get<PointPieces>(split));
  if (const auto* bad = std::get_if<TextProblem>(&found)) return to_error(*bad);
  const FoundPoint& point = std::get<FoundPoint>(found);
  return TypedPoint{point.end, point.side_given};
}

std::string format_connector(const circuit::Loom& loom, circuit::ConnectorId connector) {
  return loom.connectors.at(connector.index()).name;
}

std::string format_end_point(const circuit::Loom& loom, const circuit::EndPoint& end) {
  return circuit::end_point_name(loom, end);
}

}  // namespace halfsplit::formats
