// SPDX-License-Identifier: Apache-2.0
// Suspects that belong together: those mended by the same repair, and those that no remaining test can tell apart.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "fault/fault.h"
#include "infer/posterior.h"

namespace halfsplit::infer {

struct RepairGroup {
  std::vector<fault::RepairId> repairs;  // sorted; two for a pair with two repairs; empty: "not on this drawing"
  std::vector<std::size_t> suspects;     // positions in Posterior::suspects, most probable first
  double probability = 0.0;
};
// repair_of: by FaultId. Most probable group first.
[[nodiscard]] std::vector<RepairGroup> group_by_repair(const Posterior& posterior,
                                                       std::span<const fault::RepairId> repair_of);

// What one hypothesis says each remaining test would show: outcomes[test][outcome], each test summing to 1. A test that
// tells nothing of this hypothesis has an empty list and counts as alike to any.
using Outcomes = std::vector<std::vector<double>>;

// Half the sum of absolute differences, the largest over all tests: the best chance beyond guessing that one test
// gives.
[[nodiscard]] double distance(const Outcomes& a, const Outcomes& b);

// Each group is led by its most probable member; the others are within `threshold` of the leader. Groups in order of
// their leaders, members in the order given within a group.
struct AlikeGroup {
  std::size_t leader = 0;
  std::vector<std::size_t> members;  // leader included
  double probability = 0.0;
};
[[nodiscard]] std::vector<AlikeGroup> group_alike(std::span<const double> probabilities,
                                                  std::span<const Outcomes> outcomes, double threshold = 0.05);

}  // namespace halfsplit::infer
