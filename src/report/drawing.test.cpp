// SPDX-License-Identifier: Apache-2.0
// The drawing as values against the drawing as SVG: the same strokes, and every point where a probe's tag stands.
#include "report/drawing.h"

#include <gtest/gtest.h>

#include <map>
#include <set>

#include "circuit/netlist.h"
#include "report/random_loom.h"
#include "report/svg.h"

namespace halfsplit::report {
namespace {

// Draws kept strokes once more, `down` pixels lower.
void draw_again(const std::vector<Stroke>& strokes, int down, Pen& pen) {
  int turned = 0;  // what is turned has an origin of its own
  for (const Stroke& stroke : strokes) {
    PenPath points = stroke.points;
    for (auto& point : points) point.second += turned > 0 ? 0 : down;
    const int x = points.empty() ? 0 : points.front().first, y = points.empty() ? 0 : points.front().second;
    PenText how = stroke.how;
    how.x = x;
    how.y = y;
    switch (stroke.kind) {
      case Stroke::Kind::kPath:
        pen.path(points, stroke.weight, stroke.dashed);
        break;
      case Stroke::Kind::kMarker:
        pen.marker(points, static_cast<int>(stroke.weight));
        break;
      case Stroke::Kind::kBox:
        pen.box(x, y, stroke.width, stroke.height, stroke.weight, stroke.dashed);
        break;
      case Stroke::Kind::kCircle:
        pen.circle(x, y, stroke.radius, stroke.weight);
        break;
      case Stroke::Kind::kDot:
        pen.dot(x, y, stroke.radius);
        break;
      case Stroke::Kind::kArc:
        pen.arc(x, y, stroke.radius, stroke.right, stroke.weight);
        break;
      case Stroke::Kind::kBump:
        pen.bump(x, y, stroke.radius, stroke.weight);
        break;
      case Stroke::Kind::kSolid:
        pen.solid(points);
        break;
      case Stroke::Kind::kText:
        pen.text(how, stroke.text);
        break;
      case Stroke::Kind::kTurned:
        ++turned;
        pen.open_turned(x, y, stroke.degrees);
        break;
      case Stroke::Kind::kEnd:
        --turned;
        pen.close_group();
        break;
    }
  }
}

std::vector<double> some_suspicion(const circuit::Netlist& netlist, std::uint64_t seed) {
  base::Rng rng(seed);
  std::vector<double> suspicion(netlist.elements.size(), 0.0);
  for (double& one : suspicion)
    if (rng.chance(0.3)) one = rng.uniform();
  return suspicion;
}

constexpr int kBelowTheHead = 112;  // the SVG has a title and the heads of its lanes above

TEST(Drawing, HoldsTheStrokesOfTheSvg) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    SCOPED_TRACE(seed);
    const circuit::Loom loom = RandomLoom(seed).make(4 + seed);
    const circuit::Netlist netlist = circuit::build_netlist(loom);
    DrawRequest request{loom, netlist};
    request.suspicion = some_suspicion(netlist, seed);
    const std::string svg = draw_svg(request);
    const Drawing drawing = make_drawing(request);
    const auto expect_there = [&](const std::vector<Stroke>& strokes) {
      SvgWriter writer(false);
      draw_again(strokes, kBelowTheHead, writer);
      EXPECT_NE(svg.find(writer.body()), std::string::npos) << writer.body();
    };
    ASSERT_EQ(drawing.wires.size(), loom.wires.size());
    for (const DrawnThing& wire : drawing.wires) {
      expect_there(wire.strokes);
      expect_there(wire.words);
    }
    for (const DrawnThing& box : drawing.boxes) expect_there(box.strokes);
  }
}

TEST(Drawing, KnowsWhereAProbeMeetsEachPoint) {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    SCOPED_TRACE(seed);
    const circuit::Loom loom = RandomLoom(seed).make(8);
    const circuit::Netlist netlist = circuit::build_netlist(loom);
    std::map<std::uint32_t, int> times;
    const Drawing drawing = make_drawing({loom, netlist});
    for (const DrawnThing& box : drawing.boxes)
      for (const DrawnPoint& at : box.points) {
        ++times[at.point.value];
        EXPECT_GE(at.x, box.x - 30);
        EXPECT_LE(at.x, box.x + box.width + 30);
        EXPECT_GE(at.y, box.y);
        EXPECT_LE(at.y, box.y + box.height);
      }
    std::set<std::string> wired;
    for (const circuit::Wire& wire : loom.wires)
      for (const circuit::EndPoint* end : {&wire.from, &wire.to}) wired.insert(circuit::end_point_name(loom, *end));
    for (const std::string& name : wired) {
      const std::optional<circuit::PointId> point = circuit::find_point(netlist, name);
      ASSERT_TRUE(point) << name;
      EXPECT_EQ(times[point->value], 1) << name << ": a wire's end can be touched at one place of the drawing";
    }
  }
}

TEST(Drawing, TellsTheMostSuspectedOfABoxAndItsContacts) {
  const circuit::Loom loom = RandomLoom(3).make(12);
  const circuit::Netlist netlist = circuit::build_netlist(loom);
  DrawRequest request{loom, netlist};
  request.suspicion.assign(netlist.elements.size(), 0.0);
  for (std::size_t i = 0; i < netlist.elements.size(); ++i) {
    if (netlist.elements[i].item.kind != circuit::Item::Kind::kConnector) continue;
    request.suspicion[i] = 0.4;
    break;
  }
  double most = 0.0;
  for (const DrawnThing& box : make_drawing(request).boxes) most = std::max(most, box.suspicion);
  EXPECT_NEAR(most, 0.4, 1e-12);
}

}  // namespace
}  // namespace halfsplit::report
