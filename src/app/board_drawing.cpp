// SPDX-License-Identifier: Apache-2.0
#include "app/board_drawing.h"

#include <algorithm>
#include <cmath>

#include "candidates/state.h"
#include "circuit/part_kinds.h"

namespace halfsplit::app {

namespace {

using report::Stroke;

double rounded(double value) { return std::round(value * 1e4) / 1e4; }

std::string_view word_of(Stroke::Kind kind) {
  switch (kind) {
    case Stroke::Kind::kPath:
      return "path";
    case Stroke::Kind::kMarker:
      return "marker";
    case Stroke::Kind::kBox:
      return "box";
    case Stroke::Kind::kCircle:
      return "circle";
    case Stroke::Kind::kDot:
      return "dot";
    case Stroke::Kind::kArc:
      return "arc";
    case Stroke::Kind::kBump:
      return "bump";
    case Stroke::Kind::kSolid:
      return "solid";
    case Stroke::Kind::kText:
      return "text";
    case Stroke::Kind::kTurned:
      return "turned";
    case Stroke::Kind::kEnd:
      return "end";
  }
  return "";
}

// What is at its usual value is left out.
Json stroke_json(const Stroke& stroke) {
  Json json{{"do", word_of(stroke.kind)}};
  if (!stroke.points.empty()) {
    Json points = Json::array();
    for (const auto& [x, y] : stroke.points) {
      points.push_back(x);
      points.push_back(y);
    }
    json["at"] = std::move(points);
  }
  if (stroke.weight > 0.0) json["weight"] = rounded(stroke.weight);
  if (stroke.dashed) json["dashed"] = true;
  if (stroke.kind == Stroke::Kind::kBox) {
    json["width"] = stroke.width;
    json["height"] = stroke.height;
  }
  if (stroke.radius > 0) json["radius"] = stroke.radius;
  if (stroke.kind == Stroke::Kind::kArc) json["right"] = stroke.right;
  if (stroke.kind == Stroke::Kind::kTurned) json["degrees"] = stroke.degrees;
  if (stroke.kind == Stroke::Kind::kText) {
    json["text"] = stroke.text;
    json["size"] = stroke.how.size;
    if (stroke.how.anchor != 's') json["anchor"] = stroke.how.anchor == 'm' ? "middle" : "end";
    if (stroke.how.bold) json["bold"] = true;
    if (stroke.how.quiet) json["quiet"] = true;
  }
  return json;
}

Json strokes_json(const std::vector<Stroke>& strokes) {
  Json list = Json::array();
  for (const Stroke& stroke : strokes) list.push_back(stroke_json(stroke));
  return list;
}

Json thing_json(const LoadedLoom& loom, const report::DrawnThing& thing) {
  Json json{{"kind", thing.kind}, {"name", thing.name}, {"hint", thing.hint},   {"suspicion", rounded(thing.suspicion)},
            {"x", thing.x},       {"y", thing.y},       {"width", thing.width}, {"height", thing.height}};
  if (thing.traced) json["traced"] = true;
  json["strokes"] = strokes_json(thing.strokes);
  if (!thing.words.empty()) json["words"] = strokes_json(thing.words);
  if (thing.kind == "wire") return json;
  Json points = Json::array();
  for (const report::DrawnPoint& at : thing.points)
    points.push_back({{"point", loom.netlist.points[at.point.index()].name}, {"x", at.x}, {"y", at.y}});
  json["points"] = std::move(points);
  return json;
}

}  // namespace

std::vector<double> suspicion_of(const BeliefEngine& engine, const Belief& belief) {
  std::vector<double> suspicion(engine.loom().netlist.elements.size(), 0.0);
  for (std::size_t i = 0; i < belief.fault_weight.size(); ++i) {
    const circuit::ElementId id = engine.loom().universe.faults[i].element;
    if (!id.is_none()) suspicion[id.index()] = std::min(1.0, suspicion[id.index()] + belief.fault_weight[i]);
  }
  return suspicion;
}

Json drawing_json(const LoadedLoom& loom, const report::Drawing& drawing) {
  Json lanes = Json::array(), wires = Json::array(), boxes = Json::array();
  for (const report::DrawnLane& lane : drawing.lanes)
    lanes.push_back({{"name", lane.name}, {"detail", lane.detail}, {"left", lane.left}, {"right", lane.right}});
  for (const report::DrawnThing& wire : drawing.wires) wires.push_back(thing_json(loom, wire));
  for (const report::DrawnThing& box : drawing.boxes) boxes.push_back(thing_json(loom, box));
  return {{"width", drawing.width},
          {"height", drawing.height},
          {"lanes", std::move(lanes)},
          {"wires", std::move(wires)},
          {"boxes", std::move(boxes)}};
}

Json plugs_json(const circuit::Loom& loom, const circuit::Configuration& state) {
  Json plugs = Json::array();
  for (std::size_t i = 0; i < loom.connectors.size(); ++i) {
    const circuit::Connector& plug = loom.connectors[i];
    Json sides = Json::array();
    for (const std::size_t side : {0U, 1U}) {
      const circuit::PlaceId place = plug.place[side];
      sides.push_back({{"name", plug.sides[side]}, {"place", place.is_none() ? "" : loom.places[place.index()].name}});
    }
    candidates::Act act;
    act.kind = candidates::Act::Kind::kUnplug;
    act.connector = circuit::ConnectorId(i);
    Json json{{"name", plug.name},
              {"sides", std::move(sides)},
              {"rows", plug.rows},
              {"inline", plug.module.is_none() && plug.part.is_none()},
              {"backprobe", plug.backprobe},
              {"pluggable", plug.pluggable},
              {"apart", candidates::is_done(state, act)},
              {"unplug_minutes", plug.unplug_minutes},
              {"plug_minutes", plug.plug_minutes}};
    if (!plug.caution.empty()) json["caution"] = plug.caution;
    const std::vector<circuit::Hazard> hazards = candidates::hazards_of(loom, candidates::item_of(act));
    if (!hazards.empty()) json["hazard"] = circuit::hazard_word(hazards.front());
    plugs.push_back(std::move(json));
  }
  return plugs;
}

}  // namespace halfsplit::app
