// SPDX-License-Identifier: Apache-2.0
// What codes and complaints name, as one would read them without a meter: the part behind the pin a code watches, the
// module nobody hears, the lamp that is dark, the module that tells. Read from the drawing, not from belief.
#pragma once

#include <set>
#include <vector>

#include "app/session.h"

namespace halfsplit::app {

struct NamedItems {
  std::set<circuit::PartId> parts;
  std::set<circuit::ModuleId> modules;
  std::set<circuit::ModuleId> tellers;  // modules that report something odd

  // How early these repairs would be tried: 3 something named is replaced, 2 a module that tells, 1 anything else on
  // the drawing, 0 nothing on the drawing.
  [[nodiscard]] int rank(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) const;
};

// From what was seen before any repair and would hardly be seen on a vehicle in order.
[[nodiscard]] NamedItems items_named(Session& session);
// Faults per year that these repairs mend.
[[nodiscard]] double prior_rate(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs);

}  // namespace halfsplit::app
