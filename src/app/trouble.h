// SPDX-License-Identifier: Apache-2.0
// What is wrong with a virtual vehicle: faults of the drawing with their severities, or a change that no fault of the
// drawing makes. Drawn in the shares that belief starts from (infer/prior.h): single faults by rate, pairs by the
// product of their rates, the rest not on the drawing.
//
// "Not on this drawing" is one of three things that a drawing cannot foresee, equally often (ours):
//   - something joins two points that nothing on the drawing brings together (a tool left behind, a wire of another
//     circuit chafed through): 0.1 ohm to 10 kohm;
//   - something fitted later feeds into a point from elsewhere: half to all of the system's volts, behind 0.1 ohm to
//     1 kohm;
//   - the vehicle is not wired as drawn: one contact, joint or wire ends at another point.
// None of these looks at what belief expects of such a fault.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "app/loaded_loom.h"
#include "base/rng.h"
#include "infer/prior.h"

namespace halfsplit::app {

struct Trouble {
  std::vector<std::pair<fault::FaultId, double>> faults;  // with the quantile of each severity
  std::vector<fault::Change> beyond;                      // of what is not on the drawing
  std::string beyond_name;

  [[nodiscard]] std::string name(const fault::Universe& universe) const;
  [[nodiscard]] std::string kind(
      const fault::Universe& universe) const;  // kind of fault, "pair", "not on this drawing"
};

[[nodiscard]] fault::FaultId draw_fault(const fault::Universe& universe, base::Rng& rng);  // by rate
[[nodiscard]] Trouble draw_beyond_drawing(const LoadedLoom& loom, base::Rng& rng);
[[nodiscard]] Trouble draw_trouble(const LoadedLoom& loom, const infer::PriorShares& shares, base::Rng& rng);

}  // namespace halfsplit::app
