// SPDX-License-Identifier: Apache-2.0
// Sparse LU of a circuit matrix: KLU of SuiteSparse (Davis and Palamadai Natarajan, "Algorithm 907: KLU", ACM TOMS 37,
// 2010), with refinement whose residual is formed in extended precision. Deterministic; not for several threads at
// once.
#pragma once

#include <memory>
#include <utility>
#include <vector>

#include "sparse/half_solver.h"
#include "sparse/matrix.h"

namespace halfsplit::sparse {

// In which order rows and columns are eliminated: rows[k] and columns[k] stand k-th. Pivots are taken as ordered unless
// one is tiny against its column.
struct Ordering {
  std::vector<int> rows, columns;
};
// Of a symmetric pattern given by its edges, one with little fill: AMD of SuiteSparse (Amestoy, Davis, Duff, "Algorithm
// 837: AMD", ACM TOMS 30, 2004).
[[nodiscard]] std::vector<int> order_by_degree(std::size_t size, const std::vector<std::pair<int, int>>& edges);

class Lu {
 public:
  Lu();
  ~Lu();
  Lu(Lu&&) noexcept;
  Lu& operator=(Lu&&) noexcept;
  Lu(const Lu&) = delete;
  Lu& operator=(const Lu&) = delete;

  // Orders and factors. False when the matrix is singular; then nothing may be solved.
  [[nodiscard]] bool factor(const Matrix& matrix);
  [[nodiscard]] bool factor(const Matrix& matrix, const Ordering& ordering);
  // The same pattern with new values. With an ordering given the pivots stay where they serve, else they are chosen
  // anew.
  [[nodiscard]] bool factor_again(const Matrix& matrix);

  // x = A^-1 b in place, `refinements` steps of refinement against the matrix given to factor.
  void solve(std::vector<double>& x, int refinements = 1) const;
  // x = A^-T b in place.
  void solve_transposed(std::vector<double>& x) const;

  // The factors themselves, for halves of solves. After a good factor with an ordering given.
  [[nodiscard]] Factors extract() const;

  [[nodiscard]] std::size_t solves() const;  // how often, for the books
  [[nodiscard]] std::size_t factors() const;

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace halfsplit::sparse
