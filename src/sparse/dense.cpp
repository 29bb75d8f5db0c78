// SPDX-License-Identifier: Apache-2.0
#include "sparse/dense.h"

#include <cmath>
#include <utility>

namespace halfsplit::sparse {

bool SmallFactors::scale() {
  column_scale_.assign(n_, 0.0L);
  row_scale_.assign(n_, 0.0L);
  for (std::size_t r = 0; r < n_; ++r)
    for (std::size_t c = 0; c < n_; ++c) column_scale_[c] = std::fmax(column_scale_[c], std::fabs(a_[r * n_ + c]));
  for (std::size_t c = 0; c < n_; ++c) {
    if (!(column_scale_[c] > 0.0L) || !std::isfinite(column_scale_[c])) return false;
    const long double factor = 1.0L / column_scale_[c];
    for (std::size_t r = 0; r < n_; ++r) {
      a_[r * n_ + c] *= factor;
      row_scale_[r] = std::fmax(row_scale_[r], std::fabs(a_[r * n_ + c]));
    }
  }
  for (std::size_t r = 0; r < n_; ++r) {
    if (!(row_scale_[r] > 0.0L)) return false;
    const long double factor = 1.0L / row_scale_[r];
    for (std::size_t c = 0; c < n_; ++c) a_[r * n_ + c] *= factor;
  }
  return true;
}

void SmallFactors::pivot(std::size_t k, std::size_t& row, std::size_t& column) const {
  row = column = k;
  long double best = -1.0L;
  for (std::size_t r = k; r < n_; ++r)
    for (std::size_t c = k; c < n_; ++c) {
      const long double size = std::fabs(a_[r * n_ + c]);
      if (size <= best) continue;
      best = size;
      row = r;
      column = c;
    }
}

bool SmallFactors::factor(std::vector<long double> matrix, std::size_t n, long double floor) {
  n_ = n;
  a_ = std::move(matrix);
  row_.resize(n);
  column_.resize(n);
  if (!scale()) return false;
  for (std::size_t k = 0; k < n; ++k) {
    pivot(k, row_[k], column_[k]);
    if (!(std::fabs(a_[row_[k] * n + column_[k]]) > floor)) return false;
    for (std::size_t c = 0; c < n && row_[k] != k; ++c) std::swap(a_[k * n + c], a_[row_[k] * n + c]);
    for (std::size_t r = 0; r < n && column_[k] != k; ++r) std::swap(a_[r * n + k], a_[r * n + column_[k]]);
    const long double inverse = 1.0L / a_[k * n + k];
    for (std::size_t r = k + 1; r < n; ++r) {
      long double& m = a_[r * n + k];
      if (m == 0.0L) continue;
      m *= inverse;
      for (std::size_t c = k + 1; c < n; ++c) a_[r * n + c] -= m * a_[k * n + c];
    }
  }
  return true;
}

void SmallFactors::solve(std::vector<long double>& x) const {
  for (std::size_t r = 0; r < n_; ++r) x[r] /= row_scale_[r];
  for (std::size_t k = 0; k < n_; ++k) std::swap(x[k], x[row_[k]]);
  for (std::size_t k = 0; k < n_; ++k)
    for (std::size_t r = k + 1; r < n_; ++r) x[r] -= a_[r * n_ + k] * x[k];
  for (std::size_t k = n_; k-- > 0;) {
    for (std::size_t c = k + 1; c < n_; ++c) x[k] -= a_[k * n_ + c] * x[c];
    x[k] /= a_[k * n_ + k];
  }
  for (std::size_t k = n_; k-- > 0;) std::swap(x[k], x[column_[k]]);
  for (std::size_t c = 0; c < n_; ++c) x[c] /= column_scale_[c];
}

std::vector<long double> SmallFactors::inverse() const {
  std::vector<long double> all(n_ * n_);
  std::vector<long double> x(n_);
  for (std::size_t j = 0; j < n_; ++j) {
    x.assign(n_, 0.0L);
    x[j] = 1.0L;
    solve(x);
    for (std::size_t i = 0; i < n_; ++i) all[i * n_ + j] = x[i];
  }
  return all;
}

bool invert_small(std::vector<long double>& a, std::size_t n, long double floor) {
  SmallFactors factors;
  if (!factors.factor(a, n, floor)) return false;
  a = factors.inverse();
  return true;
}

}  // namespace halfsplit::sparse
