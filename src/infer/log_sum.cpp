// SPDX-License-Identifier: Apache-2.0
// Neumaier's variant of compensated summation keeps what each addition loses in a second number. The exponentials are
// taken relative to the largest term, so nothing overflows and the largest is exact.
#include "infer/log_sum.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace halfsplit::infer {

void CompensatedSum::add(double term) {
  const double next = sum_ + term;
  const bool sum_is_larger = std::fabs(sum_) >= std::fabs(term);
  carry_ += sum_is_larger ? (sum_ - next) + term : (term - next) + sum_;
  sum_ = next;
}

double log_sum_exp(std::span<const double> terms) {
  if (terms.empty()) return -std::numeric_limits<double>::infinity();
  const double largest = *std::max_element(terms.begin(), terms.end());
  if (std::isinf(largest)) return largest;
  CompensatedSum sum;
  for (const double term : terms) sum.add(std::exp(term - largest));
  return largest + std::log(sum.value());
}

double log_sum_exp(double a, double b) {
  const double largest = std::max(a, b);
  if (std::isinf(largest)) return largest;
  return largest + std::log1p(std::exp(std::min(a, b) - largest));
}

}  // namespace halfsplit::infer
