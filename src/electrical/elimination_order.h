// SPDX-License-Identifier: Apache-2.0
// In which order the equations of a circuit in branch-current form are eliminated: little fill, and nothing cancels.
// A branch of much resistance gives its own current first, as a conductance between its nodes. A node that hangs on
// branches of little resistance is taken out by its current balance, which gives the current of one of them, and by
// that branch's law, which gives the node's volts; what is left at the node moves to the other end, so that a chain of
// milliohms adds up as resistances. Conductances of a thousand siemens never meet those of a nanosiemens. The nodes
// follow each other as minimum degree on the circuit's graph has it.
#pragma once

#include "electrical/operating_point.h"
#include "sparse/lu.h"

namespace halfsplit::electrical {

// `node_order`: nodes in the order to take them out.
[[nodiscard]] sparse::Ordering order_elimination(const Model& model, const std::vector<Law>& laws, const Layout& layout,
                                                 const std::vector<int>& node_order);

}  // namespace halfsplit::electrical
