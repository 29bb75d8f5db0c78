// SPDX-License-Identifier: Apache-2.0
// Bits: how much is not known, and how much a test is expected to tell. Probabilities need not sum to 1; they are
// taken as shares of their sum. Zero terms count as nothing.
// Source: Shannon 1948; de Kleer and Williams, Artificial Intelligence 32 (1987) for choosing tests by expected
// entropy.
#pragma once

#include <span>
#include <vector>

namespace halfsplit::infer {

[[nodiscard]] double entropy_bits(std::span<const double> probabilities);

// Chance of each outcome, when table[h] is what hypothesis h (of probability p[h]) gives the outcomes.
[[nodiscard]] std::vector<double> outcome_chances(std::span<const double> p,
                                                  std::span<const std::vector<double>> table);
// Expected entropy of the hypotheses after the test, and the bits it is expected to tell.
[[nodiscard]] double expected_entropy_bits(std::span<const double> p, std::span<const std::vector<double>> table);
[[nodiscard]] double expected_gain_bits(std::span<const double> p, std::span<const std::vector<double>> table);

}  // namespace halfsplit::infer
