// SPDX-License-Identifier: Apache-2.0
// How good a diagnosis was, once the truth is known: the utility of the diagnostic competitions. A repairman who opens
// parts in random order finds the last of n bad ones among N after n (N + 1) / (n + 1) looks on average.
// Source: Feldman et al., "Empirical Evaluation of Diagnostic Algorithm Performance Using a Generic Framework", IJPHM 1
// (2010); definitions from memory.
#pragma once

#include <cstddef>
#include <span>

#include "fault/fault.h"

namespace halfsplit::infer {

struct IsolationScore {
  double system_repair = 0.0;     // 1: nothing bad was left unsaid
  double diagnosis_repair = 0.0;  // 1: nothing good was said
  double utility = 0.0;           // their sum minus 1
  std::size_t errors = 0;         // said wrongly plus left unsaid
};

// said, truth: sets (no fault twice); components: how many there are in all, above 0.
[[nodiscard]] IsolationScore score_isolation(std::span<const fault::FaultId> said,
                                             std::span<const fault::FaultId> truth, std::size_t components);

}  // namespace halfsplit::infer
