// SPDX-License-Identifier: Apache-2.0
#include "sparse/dense.h"

#include <cmath>
#include <utility>

namespace halfsplit::sparse {

namespace {

struct Pivots {
  std::vector<std::size_t> row, column;
};

void swap_rows(std::vector<long double>& a, std::size_t n, std::size_t r, std::size_t s) {
  for (std::size_t c = 0; c < n && r != s; ++c) std::swap(a[r * n + c], a[s * n + c]);
}

void swap_columns(std::vector<long double>& a, std::size_t n, std::size_t c, std::size_t d) {
  for (std::size_t r = 0; r < n && c != d; ++r) std::swap(a[r * n + c], a[r * n + d]);
}

// One Gauss-Jordan step in place on pivot k.
void eliminate(std::vector<long double>& a, std::size_t n, std::size_t k) {
  const long double pivot = a[k * n + k];
  a[k * n + k] = 1.0L;
  for (std::size_t c = 0; c < n; ++c) a[k * n + c] /= pivot;
  for (std::size_t r = 0; r < n; ++r) {
    const long double m = a[r * n + k];
    if (r == k || m == 0.0L) continue;
    a[r * n + k] = 0.0L;
    for (std::size_t c = 0; c < n; ++c) a[r * n + c] -= m * a[k * n + c];
  }
}

}  // namespace

bool invert_small(std::vector<long double>& a, std::size_t n, long double floor) {
  std::vector<long double> scale(n);
  for (std::size_t r = 0; r < n; ++r) {
    for (std::size_t c = 0; c < n; ++c) scale[r] = std::fmax(scale[r], std::fabs(a[r * n + c]));
    if (!(scale[r] > 0.0L) || !std::isfinite(scale[r])) return false;
    for (std::size_t c = 0; c < n; ++c) a[r * n + c] /= scale[r];
  }
  Pivots pivots{std::vector<std::size_t>(n), std::vector<std::size_t>(n)};
  for (std::size_t k = 0; k < n; ++k) {
    std::size_t pr = k;
    std::size_t pc = k;
    for (std::size_t r = k; r < n; ++r)
      for (std::size_t c = k; c < n; ++c)
        if (std::fabs(a[r * n + c]) > std::fabs(a[pr * n + pc])) {
          pr = r;
          pc = c;
        }
    if (std::fabs(a[pr * n + pc]) <= floor) return false;
    pivots.row[k] = pr;
    pivots.column[k] = pc;
    swap_rows(a, n, k, pr);
    swap_columns(a, n, k, pc);
    eliminate(a, n, k);
  }
  for (std::size_t k = n; k-- > 0;) {
    swap_rows(a, n, k, pivots.column[k]);
    swap_columns(a, n, k, pivots.row[k]);
  }
  for (std::size_t r = 0; r < n; ++r)
    for (std::size_t c = 0; c < n; ++c) a[r * n + c] /= scale[c];
  return true;
}

}  // namespace halfsplit::sparse
