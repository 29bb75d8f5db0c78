// SPDX-License-Identifier: Apache-2.0
// For tests: parts within their tolerances.
#pragma once

#include "base/rng.h"
#include "circuit/netlist.h"
#include "electrical/model.h"

namespace halfsplit::oracle {

// What a part's spread is a share of (netlist.h: "half-width of the main value").
[[nodiscard]] double& main_value(electrical::Model& model, std::size_t index, bool rail_alive);
// Every element's main value drawn: normal, sigma = half-width / 3, not below a fiftieth. Rails as if alive.
[[nodiscard]] electrical::Model spread_values(const electrical::Model& nominal, const circuit::Netlist& netlist,
                                              base::Rng& rng);

}  // namespace halfsplit::oracle
