// SPDX-License-Identifier: Apache-2.0
// Names of points: from a wire's end, and as a user types them.
#include "base/check.h"
#include "circuit/netlist.h"

namespace halfsplit::circuit {

std::string end_point_name(const Loom& loom, const EndPoint& end) {
  switch (end.kind) {
    case EndPoint::Kind::kCavity: {
      const Connector& connector = loom.connectors.at(end.connector.index());
      const bool unit = !connector.module.is_none() || !connector.part.is_none();
      const std::string base = connector.name + ":" + end.cavity;
      return unit && end.side == 0 ? base : base + "@" + connector.sides[end.side];
    }
    case EndPoint::Kind::kSplice:
      return loom.splices.at(end.splice.index()).name;
    case EndPoint::Kind::kStud:
      return loom.studs.at(end.stud.index()).name;
    case EndPoint::Kind::kTerminal:
      return loom.parts.at(end.part.index()).name + ":" + end.cavity;
    case EndPoint::Kind::kFrame:
      return loom.frames.at(end.frame.index()).name;
  }
  base::fail_check(__FILE__, __LINE__, "unknown kind of end");
}

std::optional<PointId> find_point(const Netlist& netlist, std::string_view text) {
  const auto found = netlist.point_by_name.find(std::string(text));
  if (found != netlist.point_by_name.end()) return found->second;
  const std::string wanted = std::string(text) + "@";
  const std::string loom_side =
      std::string(text).ends_with("@loom") ? std::string(text.substr(0, text.size() - 5)) : "";
  if (!loom_side.empty()) {
    const auto unit = netlist.point_by_name.find(loom_side);
    if (unit != netlist.point_by_name.end()) return unit->second;
  }
  for (std::size_t i = 0; i < netlist.points.size(); ++i)
    if (netlist.points[i].side == 0 && netlist.points[i].name.starts_with(wanted)) return PointId(i);
  return std::nullopt;
}

}  // namespace halfsplit::circuit
