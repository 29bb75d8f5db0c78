// SPDX-License-Identifier: Apache-2.0
// A fuse protects the wire behind it only when it melts before the wire is too hot. The table is common practice for
// single automotive wires in a loom (from memory; makers' tables differ by a step either way).
#include <array>
#include <string>
#include <utility>

#include "base/number.h"
#include "circuit/oddity_checks.h"
#include "circuit/part_kinds.h"

namespace halfsplit::circuit {

namespace {

struct FuseStep {
  double size_mm2, most_a;
};
constexpr std::array<FuseStep, 17> kSteps{{{0.22, 3},
                                           {0.35, 5},
                                           {0.5, 7.5},
                                           {0.75, 10},
                                           {1.0, 15},
                                           {1.5, 20},
                                           {2.5, 30},
                                           {4.0, 40},
                                           {6.0, 60},
                                           {10.0, 80},
                                           {16.0, 125},
                                           {25.0, 150},
                                           {35.0, 200},
                                           {50.0, 250},
                                           {70.0, 300},
                                           {95.0, 400},
                                           {120.0, 500}}};

// The wires right behind the fuse that are too thin for it.
void check_fuse(const Loom& loom, const OddityGraph& graph, const Element& fuse, OddityList& list) {
  const Part& part = loom.parts[fuse.part.index()];
  const double rating_a = part_value(part, "rating_a");
  const bool backwards = graph.steps_to_supply(fuse.b) < graph.steps_to_supply(fuse.a);
  for (const std::size_t i : graph.elements_near(backwards ? fuse.a : fuse.b)) {
    const Element& element = graph.netlist().elements[i];
    if (element.kind != ElementKind::kWire) continue;
    const Wire& wire = loom.wires[element.item.index];
    if (wire.ohm || !wire.size_mm2 || rating_a <= most_fuse_a(*wire.size_mm2)) continue;
    list.warn("fuse-above-wire", wire.where,
              "fuse " + part.name + " (" + base::format_significant(rating_a, 4) + " A) feeds wire " + wire.name +
                  " of " + base::format_significant(*wire.size_mm2, 3) + " mm2, which common practice fuses at " +
                  base::format_significant(most_fuse_a(*wire.size_mm2), 4) + " A at most",
              "check the size and the rating against the drawing");
  }
}

}  // namespace

double most_fuse_a(double size_mm2) {
  constexpr double kSlack = 0.97;  // 0.82 mm2 is sold as AWG18, 0.5 as 0.52
  double most = kSteps.front().most_a * size_mm2 / kSteps.front().size_mm2;
  for (const FuseStep& step : kSteps)
    if (size_mm2 >= kSlack * step.size_mm2) most = step.most_a;
  return most;
}

void check_fuses(const Loom& loom, const OddityGraph& graph, OddityList& list) {
  for (const Element& element : graph.netlist().elements)
    if (element.kind == ElementKind::kFuse) check_fuse(loom, graph, element, list);
}

}  // namespace halfsplit::circuit
