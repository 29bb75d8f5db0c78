// SPDX-License-Identifier: Apache-2.0
// Where in a fault's range of severities a relay, a module, a driver or a fuse comes to stand otherwise in the vehicle
// at work. A row of belief should not reach across such a step: on its two sides the circuit is another one.
#pragma once

#include <vector>

#include "predict/campaign.h"

namespace halfsplit::predict {

// Quantiles, rising, each known to a five-hundredth of the range. Looked for between the middles of `parts` even parts
// and at both ends: two steps within one such piece are seen as one or not at all.
[[nodiscard]] std::vector<double> find_cuts(Campaign& campaign, fault::FaultId fault, std::size_t parts);

}  // namespace halfsplit::predict
