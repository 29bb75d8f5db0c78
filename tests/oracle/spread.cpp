// SPDX-License-Identifier: Apache-2.0
#include "tests/oracle/spread.h"

#include <algorithm>

namespace halfsplit::oracle {

using circuit::ElementKind;

double& main_value(electrical::Model& model, std::size_t index, bool rail_alive) {
  electrical::Branch& b = model.branches[index];
  switch (b.kind) {
    case ElementKind::kSource:
    case ElementKind::kDiode:
      return b.volt;
    case ElementKind::kRail:
      return rail_alive ? b.volt : b.off_ohm;
    case ElementKind::kRatio:
      return b.share;
    default:
      return b.ohm;
  }
}

electrical::Model spread_values(const electrical::Model& nominal, const circuit::Netlist& netlist, base::Rng& rng) {
  electrical::Model drawn = nominal;
  for (std::size_t i = 0; i < netlist.elements.size(); ++i) {
    const double tolerance = netlist.elements[i].tolerance;
    if (tolerance > 0.0) main_value(drawn, i, true) *= std::max(0.02, 1.0 + tolerance / 3.0 * rng.normal());
  }
  return drawn;
}

}  // namespace halfsplit::oracle
