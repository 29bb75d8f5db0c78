// SPDX-License-Identifier: Apache-2.0
// Sums that come out the same each time and stay accurate: a compensated sum, and the logarithm of a sum of
// exponentials. Terms are taken in the order given.
// Source: Neumaier, "Rundungsfehleranalyse einiger Verfahren zur Summation endlicher Summen", ZAMM 54 (1974); from
// memory.
#pragma once

#include <limits>
#include <span>

namespace halfsplit::infer {

class CompensatedSum {
 public:
  void add(double term);
  [[nodiscard]] double value() const { return sum_ + carry_; }

 private:
  double sum_ = 0.0;
  double carry_ = 0.0;
};

inline constexpr double kLogOfNothing = -std::numeric_limits<double>::infinity();

// log(sum of exp(terms)); -infinity when there are none.
[[nodiscard]] double log_sum_exp(std::span<const double> terms);
[[nodiscard]] double log_sum_exp(double a, double b);

}  // namespace halfsplit::infer
