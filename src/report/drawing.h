// SPDX-License-Identifier: Apache-2.0
// The drawing of a loom as values, for a screen that draws it itself: each wire and each box with its strokes, its
// suspicion, and the points a probe can touch with where they lie. The same layout and the same pen strokes as
// draw_svg; probes and the traced path are left to the screen. Pixels, y down, (0, 0) the upper left corner.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/draw_svg.h"
#include "report/strokes.h"

namespace halfsplit::report {

struct DrawnPoint {
  circuit::PointId point;
  int x = 0, y = 0;
};

// A wire: from its first to its last corner. A box: a plug, a module, a part, a joint.
struct DrawnThing {
  std::string_view kind;  // "wire", "plug", "module", "part", "splice", "stud", "frame"
  std::string name;       // of a wire: what stands above it
  std::string hint;       // all there is to say
  double suspicion = 0.0;
  bool traced = false;
  int x = 0, y = 0, width = 0, height = 0;  // what it covers, its words left out
  std::vector<Stroke> strokes;
  std::vector<Stroke> words;  // of a wire: its label, to lie above all lines
  std::vector<DrawnPoint> points;
};

struct DrawnLane {
  std::string name, detail;
  int left = 0, right = 0;
};

struct Drawing {
  int width = 0, height = 0;
  std::vector<DrawnLane> lanes;
  std::vector<DrawnThing> wires, boxes;
};

[[nodiscard]] Drawing make_drawing(const DrawRequest& request);

}  // namespace halfsplit::report
