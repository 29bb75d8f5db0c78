// SPDX-License-Identifier: Apache-2.0
// Draws a loom as SVG 1.1: places as lanes, runs as lines through both sides of every plug, parts with the plain
// symbols of IEC 60617. A pure function of a snapshot: the same request gives the same bytes. Suspicion is the weight
// of a line and a percentage beside it, never a colour. Every name is escaped. Lengths in the SVG are in user units of
// one pixel.
#pragma once

#include <string>
#include <vector>

#include "circuit/loom.h"
#include "circuit/netlist.h"

namespace halfsplit::report {

struct DrawRequest {
  const circuit::Loom& loom;
  const circuit::Netlist& netlist;
  std::vector<double> suspicion = {};           // by ElementId, 0 to 1; empty or short: 0
  double elsewhere = 0.0;                       // "not on this drawing", 0 to 1; printed below when above 0
  circuit::PointId red = {}, black = {};        // where the probes go; none: not drawn
  std::vector<circuit::ElementId> traced = {};  // a path to bring out: a line drawn beside its wires
  std::string title = {};                       // empty: the loom's name
  std::string note = {};                        // one line below the title
  bool dark = false;
};

// The netlist belongs to the loom; anything else is a bug.
[[nodiscard]] std::string draw_svg(const DrawRequest& request);

}  // namespace halfsplit::report
