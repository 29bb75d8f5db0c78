// SPDX-License-Identifier: Apache-2.0
// Random looms laid out: every wire is led from end to end, no two boxes overlap, no wire runs through a box or along
// another wire, every word has its room. The seed is in the trace.
#include "report/scene.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>

#include "circuit/netlist.h"
#include "report/box_size.h"
#include "report/random_loom.h"

namespace halfsplit::report {
namespace {

struct Area {
  int left, top, right, bottom;
};

bool overlap(const Area& a, const Area& b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

Area area_of(const Box& box) { return {box.x, box.y, box.x + box.width, box.y + box.height}; }

// Without passes, which cannot be seen.
std::vector<Box> seen_boxes(const Scene& scene) {
  std::vector<Box> boxes;
  for (const Box& box : scene.boxes)
    if (box.kind != BoxKind::kPass) boxes.push_back(box);
  return boxes;
}

struct Stretch {
  int x1, y1, x2, y2;
  std::size_t link;
};

// The straight pieces of every wire, outside its end boxes.
std::vector<Stretch> stretches(const Scene& scene) {
  std::vector<Stretch> list;
  for (std::size_t i = 0; i < scene.links.size(); ++i) {
    const std::vector<std::pair<int, int>> points = link_route(scene, scene.links[i]);
    for (std::size_t k = 1; k < points.size(); ++k)
      list.push_back({std::min(points[k - 1].first, points[k].first), std::min(points[k - 1].second, points[k].second),
                      std::max(points[k - 1].first, points[k].first), std::max(points[k - 1].second, points[k].second),
                      i});
  }
  return list;
}

Area thin_area(const Stretch& s) { return {s.x1, s.y1, std::max(s.x2, s.x1 + 1), std::max(s.y2, s.y1 + 1)}; }

bool level(const Stretch& s) { return s.y1 == s.y2; }

// Both level or both upright, and sharing more than a point.
bool on_top(const Stretch& a, const Stretch& b) {
  if (a.link == b.link || level(a) != level(b)) return false;
  if (level(a)) return a.y1 == b.y1 && std::min(a.x2, b.x2) > std::max(a.x1, b.x1);
  return a.x1 == b.x1 && std::min(a.y2, b.y2) > std::max(a.y1, b.y1);
}

class Laid {
 public:
  Laid(std::uint64_t seed, std::size_t size)
      : loom_(RandomLoom(seed).make(size)),
        netlist_(circuit::build_netlist(loom_)),
        scene_(make_scene({loom_, netlist_})) {
    arrange_columns(scene_);
    arrange_rows(scene_);
    arrange_routes(scene_);
  }
  [[nodiscard]] const Scene& scene() const { return scene_; }
  [[nodiscard]] const circuit::Loom& loom() const { return loom_; }

 private:
  circuit::Loom loom_;
  circuit::Netlist netlist_;
  Scene scene_;
};

constexpr std::uint64_t kSeeds = 25;
std::size_t size_of(std::uint64_t seed) { return 4 + seed * 2; }

TEST(Scene, EveryWireIsLedFromEndToEnd) {
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const Laid laid(seed, size_of(seed));
    ASSERT_EQ(laid.scene().links.size(), laid.loom().wires.size());
    for (const Link& link : laid.scene().links) {
      std::size_t at = link.end[0];
      for (const std::size_t index : link.segments) {
        const Segment& segment = laid.scene().segments[index];
        ASSERT_TRUE(segment.port[0] == at || segment.port[1] == at);
        at = laid.scene().across(segment, at);
        const Box& box = laid.scene().boxes[laid.scene().ports[at].box];
        if (box.kind == BoxKind::kPass) at = box.slots[0].ports[box.slots[0].ports[0] == at ? 1 : 0];
      }
      EXPECT_EQ(at, link.end[1]);
    }
  }
}

TEST(Scene, BoxesKeepApart) {
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const std::vector<Box> boxes = seen_boxes(Laid(seed, size_of(seed)).scene());
    for (std::size_t i = 0; i < boxes.size(); ++i)
      for (std::size_t k = i + 1; k < boxes.size(); ++k)
        EXPECT_FALSE(overlap(area_of(boxes[i]), area_of(boxes[k]))) << boxes[i].name << " and " << boxes[k].name;
  }
}

TEST(Scene, NoWireRunsThroughABox) {
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const Laid laid(seed, size_of(seed));
    const std::vector<Box> boxes = seen_boxes(laid.scene());
    for (const Stretch& wire : stretches(laid.scene()))
      for (const Box& box : boxes)
        EXPECT_FALSE(overlap(area_of(box), thin_area(wire))) << laid.loom().wires[wire.link].name << ", " << box.name;
  }
}

TEST(Scene, NoWireRunsAlongAnother) {
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const Laid laid(seed, size_of(seed));
    const std::vector<Stretch> wires = stretches(laid.scene());
    for (std::size_t i = 0; i < wires.size(); ++i)
      for (std::size_t k = i + 1; k < wires.size(); ++k)
        EXPECT_FALSE(on_top(wires[i], wires[k]))
            << laid.loom().wires[wires[i].link].name << " and " << laid.loom().wires[wires[k].link].name;
  }
}

Area label_area(const Scene& scene, const Link& link) {
  const Port& port = scene.ports[link.end[link.label_end]];
  const Channel& channel = scene.channels[scene.boxes[port.box].column + (port.side == kRight ? 1 : 0)];
  const int y = scene.port_y(link.end[link.label_end]), width = link_label_width(link);
  const int left = port.side == kRight ? channel.left + 3 : channel.right - 3 - width;
  return {left, y - 11, left + width, y + 11};
}

// No upright stretch, no box and no other label lies where a label stands.
TEST(Scene, LabelsHaveTheirRoom) {
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const Laid laid(seed, size_of(seed));
    std::vector<Area> labels;
    for (const Link& link : laid.scene().links) labels.push_back(label_area(laid.scene(), link));
    const std::vector<Stretch> wires = stretches(laid.scene());
    const std::vector<Box> boxes = seen_boxes(laid.scene());
    for (std::size_t i = 0; i < labels.size(); ++i) {
      for (std::size_t k = i + 1; k < labels.size(); ++k) EXPECT_FALSE(overlap(labels[i], labels[k]));
      for (const Stretch& wire : wires) EXPECT_FALSE(!level(wire) && overlap(labels[i], thin_area(wire)));
      for (const Box& box : boxes) EXPECT_FALSE(overlap(labels[i], area_of(box))) << box.name;
    }
  }
}

TEST(Scene, ThingsStandInTheirLane) {
  for (std::uint64_t seed = 1; seed <= kSeeds; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const Laid laid(seed, size_of(seed));
    for (const Box& box : seen_boxes(laid.scene())) {
      if (box.place[0] != box.place[1]) continue;  // on a border
      const Lane& lane = laid.scene().lanes[box.place[0]];
      EXPECT_GE(box.x, lane.left) << box.name;
      EXPECT_LE(box.x + box.width, lane.right) << box.name;
    }
  }
}

}  // namespace
}  // namespace halfsplit::report
