// SPDX-License-Identifier: Apache-2.0
// What a drawing is drawn with: lines, shapes and words in whole pixels, y down. One pen writes SVG (svg.h), another
// keeps the strokes as values (strokes.h), so that what draws need not know where it ends up. Inks are named, not
// given as colours: who shows the drawing chooses them, and suspicion is the weight of a line.
#pragma once

#include <string_view>
#include <utility>
#include <vector>

namespace halfsplit::report {

struct PenText {
  int x = 0, y = 0;  // of the baseline
  double size = 10.0;
  char anchor = 's';  // 's' start, 'm' middle, 'e' end
  bool bold = false;
  bool quiet = false;  // secondary: drawn in a weaker ink
};

using PenPath = std::vector<std::pair<int, int>>;

class Pen {
 public:
  static constexpr double kThin = 1.2;

  Pen() = default;
  Pen(const Pen&) = delete;
  Pen& operator=(const Pen&) = delete;
  virtual ~Pen() = default;

  void path(const PenPath& points, double weight) { path(points, weight, false); }
  void box(int x, int y, int width, int height, double weight = kThin) { box(x, y, width, height, weight, false); }
  void line(int x1, int y1, int x2, int y2, double weight = kThin) { path({{x1, y1}, {x2, y2}}, weight, false); }
  virtual void path(const PenPath& points, double weight, bool dashed) = 0;
  virtual void marker(const PenPath& points, int width) = 0;  // a broad pale stroke below what follows
  virtual void box(int x, int y, int width, int height, double weight, bool dashed) = 0;  // filled with paper
  virtual void circle(int x, int y, int radius, double weight) = 0;                       // likewise
  virtual void dot(int x, int y, int radius) = 0;
  virtual void arc(int x, int y, int radius, bool right, double weight) = 0;  // half a circle, its back to that side
  virtual void bump(int x, int y, int radius, double weight) = 0;             // half a circle, its back up
  virtual void solid(const PenPath& points) = 0;                              // a filled outline
  virtual void text(const PenText& how, std::string_view text) = 0;
  virtual void open_turned(int x, int y, int degrees) = 0;  // what follows has (x, y) as origin, turned clockwise
  virtual void close_group() = 0;
};

}  // namespace halfsplit::report
