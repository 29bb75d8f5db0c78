// SPDX-License-Identifier: Apache-2.0
#include "report/drawing.h"

#include <algorithm>

#include "report/scene.h"
#include "report/thing_painter.h"

namespace halfsplit::report {

namespace {

std::string_view kind_of(BoxKind kind) {
  switch (kind) {
    case BoxKind::kPlug:
      return "plug";
    case BoxKind::kModule:
      return "module";
    case BoxKind::kBlock:
    case BoxKind::kPart:
      return "part";
    case BoxKind::kSplice:
      return "splice";
    case BoxKind::kStud:
      return "stud";
    case BoxKind::kFrame:
      return "frame";
    case BoxKind::kPass:
      break;
  }
  return "";
}

void cover(DrawnThing& thing, const PenPath& corners) {
  int left = corners.front().first, right = left, top = corners.front().second, bottom = top;
  for (const auto& [x, y] : corners) {
    left = std::min(left, x);
    right = std::max(right, x);
    top = std::min(top, y);
    bottom = std::max(bottom, y);
  }
  thing.x = left;
  thing.y = top;
  thing.width = right - left;
  thing.height = bottom - top;
}

class DrawingMaker {
 public:
  explicit DrawingMaker(const DrawRequest& request)
      : netlist_(request.netlist), scene_(make_scene(request)), painter_(request.loom, scene_, pen_) {
    arrange_columns(scene_);
    arrange_rows(scene_);
    arrange_routes(scene_);
  }

  Drawing make() {
    Drawing drawing;
    drawing.width = scene_.width;
    drawing.height = scene_.height;
    for (const Lane& lane : scene_.lanes) drawing.lanes.push_back({lane.name, lane.detail, lane.left, lane.right});
    for (const Link& link : scene_.links) drawing.wires.push_back(wire(link));
    for (const Box& box : scene_.boxes)
      if (box.kind != BoxKind::kPass) drawing.boxes.push_back(thing(box));
    return drawing;
  }

 private:
  DrawnThing wire(const Link& link) {
    DrawnThing thing;
    thing.kind = "wire";
    thing.name = link.above;
    thing.hint = link.hint;
    thing.suspicion = link.suspicion;
    thing.traced = link.traced;
    cover(thing, link_route(scene_, link));
    painter_.paint_link(link);
    thing.strokes = pen_.take();
    painter_.paint_label(link);
    thing.words = pen_.take();
    return thing;
  }

  DrawnThing thing(const Box& box) {
    DrawnThing thing;
    thing.kind = kind_of(box.kind);
    thing.name = box.name;
    thing.hint = box.hint;
    thing.suspicion = box.suspicion;
    thing.traced = box.traced;
    thing.x = box.x;
    thing.y = box.y;
    thing.width = box.width;
    thing.height = box.height;
    painter_.paint_box(box);
    thing.strokes = pen_.take();
    for (std::size_t i = 0; i < box.slots.size(); ++i) {
      thing.traced = thing.traced || box.slots[i].traced;
      thing.suspicion = std::max(thing.suspicion, box.slots[i].suspicion);
      for (const std::size_t side : {0U, 1U})
        for (const circuit::PointId point : box.slots[i].points[side]) thing.points.push_back(at(box, i, side, point));
    }
    return thing;
  }

  DrawnPoint at(const Box& box, std::size_t slot, std::size_t side, circuit::PointId point) const {
    const auto [x, y] = probe_spot(scene_, box, slot, side, netlist_.points[point.index()]);
    return {point, x, y};
  }

  const circuit::Netlist& netlist_;
  Scene scene_;
  StrokeKeeper pen_;
  ThingPainter painter_;
};

}  // namespace

Drawing make_drawing(const DrawRequest& request) { return DrawingMaker(request).make(); }

}  // namespace halfsplit::report
