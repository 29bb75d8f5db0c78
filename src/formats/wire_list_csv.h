// SPDX-License-Identifier: Apache-2.0
// The wire list of a loom as CSV (docs/formats/wire-list.md): one row a wire, in the loom's order, points in their
// canonical text, numbers in the base units of the column names, nothing where the drawing is silent.
#pragma once

#include <string>

#include "circuit/loom.h"

namespace halfsplit::formats {

[[nodiscard]] std::string write_wire_list_csv(const circuit::Loom& loom);

}  // namespace halfsplit::formats
