// SPDX-License-Identifier: Apache-2.0
// Rules of docs/formats/loom.md, [runs]. An inline connector is entered on its first side and left on its second,
// unless the hop says otherwise; a part is entered at its first terminal and left at its second.
#include "formats/run_hops.h"

#include <string>
#include <utility>

#include "circuit/part_kinds.h"

namespace halfsplit::formats {

namespace {

using circuit::EndPoint;
using Ends = std::variant<HopEnds, TextProblem>;

TextProblem problem(const PointPieces& pieces, std::string code, std::string message, std::string hint) {
  return {std::move(code), std::move(message), std::move(hint), pieces.head_at, pieces.head.size()};
}

// A wire is never crimped to the unit's own pin.
std::variant<EndPoint, TextProblem> loom_side(const PointIndex& index, const PointPieces& pieces,
                                              const FoundPoint& found) {
  if (found.end.kind != EndPoint::Kind::kCavity || found.end.side == 0) return found.end;
  const circuit::Connector& connector = index.loom().connectors[found.end.connector.index()];
  if (connector.module.is_none() && connector.part.is_none()) return found.end;
  return TextProblem{"unit-side", "a wire ends on the loom side of " + connector.name + ", not at the unit's own pin",
                     "write " + connector.name + ":" + pieces.cavity, pieces.side_at, pieces.side.size()};
}

std::variant<EndPoint, TextProblem> find_end(PointIndex& index, const PointPieces& pieces) {
  const std::variant<FoundPoint, TextProblem> found = index.find_point(pieces);
  if (const auto* bad = std::get_if<TextProblem>(&found)) return *bad;
  return loom_side(index, pieces, std::get<FoundPoint>(found));
}

Ends both(PointIndex& index, const PointPieces& in, const PointPieces& out) {
  const std::variant<EndPoint, TextProblem> arrive = find_end(index, in);
  if (const auto* bad = std::get_if<TextProblem>(&arrive)) return *bad;
  const std::variant<EndPoint, TextProblem> leave = find_end(index, out);
  if (const auto* bad = std::get_if<TextProblem>(&leave)) return *bad;
  return HopEnds{std::get<EndPoint>(arrive), std::get<EndPoint>(leave)};
}

Ends through_connector(PointIndex& index, const PointPieces& pieces, HopPlace place) {
  const std::variant<FoundPoint, TextProblem> found = index.find_point(pieces);
  if (const auto* bad = std::get_if<TextProblem>(&found)) return *bad;
  HopEnds ends{std::get<FoundPoint>(found).end, std::get<FoundPoint>(found).end};
  if (place == HopPlace::kMiddle)
    ends.leave.side = ends.arrive.side ^ 1U;
  else if (!pieces.has_side)
    ends.leave.side = 1;
  return ends;
}

PointPieces with_terminal(const PointPieces& pieces, std::string terminal, std::size_t at) {
  PointPieces changed = pieces;
  changed.cavity = std::move(terminal);
  changed.cavity_at = at;
  changed.has_cavity = true;
  changed.has_out = false;
  return changed;
}

// F3 alone, K1:85/86, or a bolted terminal that the run touches.
Ends through_part(PointIndex& index, const PointIndex::Head& head, const PointPieces& pieces, HopPlace place) {
  const circuit::Part& part = index.loom().parts[head.thing.index];
  const std::vector<std::string_view>& terminals = circuit::part_kind(part.kind).terminals;
  if (pieces.has_out && pieces.cavity == pieces.out)
    return problem(
        pieces, "run-through", "a run cannot come in and go out at terminal " + pieces.cavity,
        "name two terminals, as in " + part.name + ":" + std::string(terminals[0]) + "/" + std::string(terminals[1]));
  if (pieces.has_out)
    return both(index, with_terminal(pieces, pieces.cavity, pieces.cavity_at),
                with_terminal(pieces, pieces.out, pieces.out_at));
  if (!pieces.has_cavity)
    return both(index, with_terminal(pieces, std::string(terminals[0]), pieces.head_at),
                with_terminal(pieces, std::string(terminals[1]), pieces.head_at));
  if (place == HopPlace::kMiddle && !part.plug.is_none())
    return problem(pieces, "run-through", "only one terminal of " + part.name + " is named, and the run goes on",
                   "write " + part.name + " to go through it, or " + part.name + ":" + pieces.cavity + "/" +
                       std::string(terminals[pieces.cavity == terminals[0] ? 1 : 0]));
  return both(index, pieces, pieces);
}

}  // namespace

Ends find_hop(PointIndex& index, const PointPieces& pieces, HopPlace place) {
  const std::variant<PointIndex::Head, TextProblem> read = index.find_head(pieces);
  if (const auto* bad = std::get_if<TextProblem>(&read)) return *bad;
  const PointIndex::Head& head = std::get<PointIndex::Head>(read);
  if (pieces.has_out && (place != HopPlace::kMiddle || head.thing.kind != Thing::Kind::kPart))
    return problem(pieces, "run-through", "two terminals are named, but the run does not go through a part here",
                   "name one");
  if (head.thing.kind == Thing::Kind::kConnector) return through_connector(index, pieces, place);
  if (head.thing.kind == Thing::Kind::kPart) return through_part(index, head, pieces, place);
  if (head.thing.kind == Thing::Kind::kModule && place == HopPlace::kMiddle)
    return problem(pieces, "run-through", "a run cannot go through a pin of module " + pieces.head,
                   "end one run here and begin another");
  return both(index, pieces, pieces);
}

std::variant<EndPoint, TextProblem> find_wire_end(PointIndex& index, const PointPieces& pieces) {
  const std::variant<FoundPoint, TextProblem> found = index.find_point(pieces);
  if (const auto* bad = std::get_if<TextProblem>(&found)) return *bad;
  const FoundPoint& point = std::get<FoundPoint>(found);
  if (point.side_given) return loom_side(index, pieces, point);
  const circuit::Connector& connector = index.loom().connectors[point.end.connector.index()];
  const std::string text = connector.name + ":" + pieces.cavity + "@";
  return problem(pieces, "side-missing", "a wire ends on one side of " + connector.name + ", and none is named",
                 "write " + text + connector.sides[0] + " or " + text + connector.sides[1]);
}

}  // namespace halfsplit::formats
