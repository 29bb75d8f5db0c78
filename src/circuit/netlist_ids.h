// SPDX-License-Identifier: Apache-2.0
// Ids of the flattened circuit.
#pragma once

#include "base/ids.h"

namespace halfsplit::circuit {

using NodeId = base::Id<struct NodeTag>;
using ElementId = base::Id<struct ElementTag>;
using PointId = base::Id<struct PointTag>;

}  // namespace halfsplit::circuit
