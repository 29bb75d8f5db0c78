// SPDX-License-Identifier: Apache-2.0
// So that what a list of changes makes of a circuit can be kept by that list.
#pragma once

#include <cstddef>
#include <vector>

#include "fault/fault.h"

namespace halfsplit::fault {

struct ChangeHash {
  [[nodiscard]] std::size_t operator()(const std::vector<Change>& changes) const;
};

}  // namespace halfsplit::fault
