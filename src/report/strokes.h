// SPDX-License-Identifier: Apache-2.0
// Strokes as values: what a pen was told, kept in order, for whoever shows the drawing in inks of its own. Pixels.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "report/pen.h"

namespace halfsplit::report {

struct Stroke {
  enum class Kind : std::uint8_t { kPath, kMarker, kBox, kCircle, kDot, kArc, kBump, kSolid, kText, kTurned, kEnd };
  Kind kind = Kind::kPath;
  PenPath points = {};    // kPath, kMarker, kSolid: its corners; others: one point - of kBox the upper left corner, of
                          // kText its baseline, of kTurned the new origin
  double weight = 0.0;    // of the line; kMarker: its width
  bool dashed = false;    // kPath, kBox
  int width = 0;          // kBox
  int height = 0;         // kBox
  int radius = 0;         // kCircle, kDot, kArc, kBump
  bool right = false;     // kArc: its back is to the right
  int degrees = 0;        // kTurned: clockwise; lasts until its kEnd
  PenText how = {};       // kText
  std::string text = {};  // kText
};

class StrokeKeeper final : public Pen {
 public:
  using Pen::box;
  using Pen::path;
  void path(const PenPath& points, double weight, bool dashed) override;
  void marker(const PenPath& points, int width) override;
  void box(int x, int y, int width, int height, double weight, bool dashed) override;
  void circle(int x, int y, int radius, double weight) override;
  void dot(int x, int y, int radius) override;
  void arc(int x, int y, int radius, bool right, double weight) override;
  void bump(int x, int y, int radius, double weight) override;
  void solid(const PenPath& points) override;
  void text(const PenText& how, std::string_view text) override;
  void open_turned(int x, int y, int degrees) override;
  void close_group() override;

  // What was drawn since the last take.
  [[nodiscard]] std::vector<Stroke> take();

 private:
  Stroke& add(Stroke::Kind kind, PenPath points, double weight = 0.0);
  std::vector<Stroke> strokes_;
};

}  // namespace halfsplit::report
