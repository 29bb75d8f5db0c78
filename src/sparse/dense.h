// SPDX-License-Identifier: Apache-2.0
// The small systems of low-rank updates: a few by a few, in extended precision. Gaussian elimination with complete
// pivoting on rows and columns scaled to one (Golub and Van Loan, "Matrix Computations", 3.4).
#pragma once

#include <cstddef>
#include <vector>

namespace halfsplit::sparse {

class SmallFactors {
 public:
  // Takes the row-major n x n matrix. False when no pivot stands above `floor` (of rows scaled to a largest entry of
  // one), or an entry is not finite; then nothing may be solved.
  [[nodiscard]] bool factor(std::vector<long double> matrix, std::size_t n, long double floor);
  [[nodiscard]] std::size_t size() const { return n_; }
  void solve(std::vector<long double>& rhs) const;  // in place
  [[nodiscard]] std::vector<long double> inverse() const;

 private:
  [[nodiscard]] bool scale();
  void pivot(std::size_t k, std::size_t& row, std::size_t& column) const;

  std::size_t n_ = 0;
  std::vector<long double> a_;  // L below the diagonal, U on and above it
  std::vector<long double> row_scale_, column_scale_;
  std::vector<std::size_t> row_, column_;  // swapped with k at step k
};

// Replaces the row-major n x n matrix by its inverse. False as above.
[[nodiscard]] bool invert_small(std::vector<long double>& a, std::size_t n, long double floor);

}  // namespace halfsplit::sparse
