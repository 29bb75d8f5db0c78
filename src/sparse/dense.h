// SPDX-License-Identifier: Apache-2.0
// The small systems of low-rank updates: a few by a few, to extended precision. Gaussian elimination in ordinary
// precision with complete pivoting on rows and columns scaled to one, then refinement by residuals in extended
// precision (Golub and Van Loan, "Matrix Computations", 3.4 and 3.5.3): what stands above a floor of 1e-7 gains nine
// digits a step.
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
  void solve_transposed(std::vector<long double>& rhs) const;
  [[nodiscard]] std::vector<long double> inverse() const;

 private:
  [[nodiscard]] bool scale();
  void solve_roughly(std::vector<double>& x) const;
  void solve_transposed_roughly(std::vector<double>& x) const;
  template <class Roughly, class TakeAway>
  void refine(std::vector<long double>& x, const std::vector<double>& scale, Roughly roughly, TakeAway take_away) const;

  std::size_t n_ = 0;
  std::vector<long double> exact_;                // the matrix as given
  std::vector<double> a_;                         // L below the diagonal, U on and above it, one over the diagonal's
  std::vector<double> row_scale_, column_scale_;  // by which rows and columns are multiplied
  std::vector<std::size_t> row_, column_;         // swapped with k at step k
  mutable std::vector<double> step_;
  mutable std::vector<long double> left_;
};

// Replaces the row-major n x n matrix by its inverse. False as above.
[[nodiscard]] bool invert_small(std::vector<long double>& a, std::size_t n, long double floor);

}  // namespace halfsplit::sparse
