// SPDX-License-Identifier: Apache-2.0
#include "formats/point_text.h"

#include <utility>
#include <variant>

#include "formats/point_index.h"

namespace halfsplit::formats {

namespace {

using circuit::EndPoint;

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

std::string format_end_point(const circuit::Loom& loom, const EndPoint& end) {
  switch (end.kind) {
    case EndPoint::Kind::kSplice:
      return loom.splices.at(end.splice.index()).name;
    case EndPoint::Kind::kStud:
      return loom.studs.at(end.stud.index()).name;
    case EndPoint::Kind::kFrame:
      return loom.frames.at(end.frame.index()).name;
    case EndPoint::Kind::kTerminal:
      return loom.parts.at(end.part.index()).name + ":" + end.cavity;
    case EndPoint::Kind::kCavity:
      break;
  }
  const circuit::Connector& connector = loom.connectors.at(end.connector.index());
  const bool owned = !connector.module.is_none() || !connector.part.is_none();
  const std::string text = connector.name + ":" + end.cavity;
  return owned && end.side == 0 ? text : text + "@" + connector.sides[end.side & 1U];
}

}  // namespace halfsplit::formats
