// SPDX-License-Identifier: Apache-2.0
// The small systems of low-rank updates: the inverse of a few by a few, in extended precision. Gauss-Jordan with
// complete pivoting on rows scaled to one (Golub and Van Loan, "Matrix Computations", 3.4).
#pragma once

#include <cstddef>
#include <vector>

namespace halfsplit::sparse {

// Replaces the row-major n x n matrix by its inverse. False, and the matrix destroyed, when no pivot stands above
// `floor` (of rows scaled to a largest entry of one).
[[nodiscard]] bool invert_small(std::vector<long double>& a, std::size_t n, long double floor);

}  // namespace halfsplit::sparse
