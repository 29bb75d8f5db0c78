// SPDX-License-Identifier: Apache-2.0
#include "report/strokes.h"

#include <utility>

namespace halfsplit::report {

Stroke& StrokeKeeper::add(Stroke::Kind kind, PenPath points, double weight) {
  Stroke& stroke = strokes_.emplace_back();
  stroke.kind = kind;
  stroke.points = std::move(points);
  stroke.weight = weight;
  return stroke;
}

void StrokeKeeper::path(const PenPath& points, double weight, bool dashed) {
  add(Stroke::Kind::kPath, points, weight).dashed = dashed;
}

void StrokeKeeper::marker(const PenPath& points, int width) { add(Stroke::Kind::kMarker, points, width); }

void StrokeKeeper::box(int x, int y, int width, int height, double weight, bool dashed) {
  Stroke& stroke = add(Stroke::Kind::kBox, {{x, y}}, weight);
  stroke.width = width;
  stroke.height = height;
  stroke.dashed = dashed;
}

void StrokeKeeper::circle(int x, int y, int radius, double weight) {
  add(Stroke::Kind::kCircle, {{x, y}}, weight).radius = radius;
}

void StrokeKeeper::dot(int x, int y, int radius) { add(Stroke::Kind::kDot, {{x, y}}).radius = radius; }

void StrokeKeeper::arc(int x, int y, int radius, bool right, double weight) {
  Stroke& stroke = add(Stroke::Kind::kArc, {{x, y}}, weight);
  stroke.radius = radius;
  stroke.right = right;
}

void StrokeKeeper::bump(int x, int y, int radius, double weight) {
  add(Stroke::Kind::kBump, {{x, y}}, weight).radius = radius;
}

void StrokeKeeper::solid(const PenPath& points) { add(Stroke::Kind::kSolid, points); }

void StrokeKeeper::text(const PenText& how, std::string_view text) {
  if (text.empty()) return;
  Stroke& stroke = add(Stroke::Kind::kText, {{how.x, how.y}});
  stroke.how = how;
  stroke.text = text;
}

void StrokeKeeper::open_turned(int x, int y, int degrees) { add(Stroke::Kind::kTurned, {{x, y}}).degrees = degrees; }

void StrokeKeeper::close_group() { add(Stroke::Kind::kEnd, {}); }

std::vector<Stroke> StrokeKeeper::take() { return std::exchange(strokes_, {}); }

}  // namespace halfsplit::report
