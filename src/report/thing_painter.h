// SPDX-License-Identifier: Apache-2.0
// Draws the things of a scene that is laid out - wires, plugs, modules, parts, joints - with any pen (pen.h), each by
// itself. What stands around them (lanes, title, legend, probes) is its user's.
#pragma once

#include "report/pen.h"
#include "report/scene.h"

namespace halfsplit::report {

// The weight of a line for how likely a fault is there.
[[nodiscard]] double weight_of(double suspicion);
// Where a probe meets a slot: of an inline plug on that side, else on the loom's side (0) or the unit's (1).
[[nodiscard]] int probe_x(const Box& box, std::size_t slot, std::size_t side);
// Where it meets a point of the slot, x and y: the lug of a wire where that wire arrives.
[[nodiscard]] std::pair<int, int> probe_spot(const Scene& scene, const Box& box, std::size_t slot, std::size_t side,
                                             const circuit::Point& point);

class ThingPainter {
 public:
  ThingPainter(const circuit::Loom& loom, const Scene& scene, Pen& pen) : loom_(loom), scene_(scene), out_(pen) {}

  void paint_link(const Link& link);
  void paint_label(const Link& link);
  void paint_box(const Box& box);

 private:
  [[nodiscard]] double link_weight(std::size_t port) const;
  [[nodiscard]] const circuit::Part& part(const Box& box) const;
  void paint_title(const Box& box, int x, int y, char anchor);
  void paint_stub(const Box& box, const Slot& slot, std::size_t side, int x);
  void paint_plug(const Box& box);
  void paint_terminal(const Box& box, const Slot& slot, std::size_t side, int inner);
  void paint_block(const Box& box);
  void paint_symbol(const Box& box, int x, int y, int degrees);
  void paint_level(const Box& box);
  void paint_upright(const Box& box);
  void paint_joint(const Box& box);

  const circuit::Loom& loom_;
  const Scene& scene_;
  Pen& out_;
};

}  // namespace halfsplit::report
