// SPDX-License-Identifier: Apache-2.0
#include "sparse/dense.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace halfsplit::sparse {

namespace {

constexpr int kMostRounds = 5;
constexpr long double kSolved = 1.0e-19L;  // square of a step, of the whole

double larger(double a, double b) { return a > b ? a : b; }

// Four at a time, so that none waits for the one before.
double largest(const double* x, std::size_t n) {
  double most[4] = {0.0, 0.0, 0.0, 0.0};
  std::size_t i = 0;
  for (; i + 4 <= n; i += 4)
    for (std::size_t j = 0; j < 4; ++j) most[j] = larger(std::fabs(x[i + j]), most[j]);
  for (; i < n; ++i) most[0] = larger(std::fabs(x[i]), most[0]);
  return larger(larger(most[0], most[1]), larger(most[2], most[3]));
}

void take_away(double* from, const double* what, double factor, std::size_t n) {
  std::size_t i = 0;
  for (; i + 4 <= n; i += 4)
    for (std::size_t j = 0; j < 4; ++j) from[i + j] -= factor * what[i + j];
  for (; i < n; ++i) from[i] -= factor * what[i];
}

double product(const double* a, const double* b, std::size_t n) {
  double sum[4] = {0.0, 0.0, 0.0, 0.0};
  std::size_t i = 0;
  for (; i + 4 <= n; i += 4)
    for (std::size_t j = 0; j < 4; ++j) sum[j] += a[i + j] * b[i + j];
  for (; i < n; ++i) sum[0] += a[i] * b[i];
  return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

}  // namespace

bool SmallFactors::scale() {
  a_.resize(n_ * n_);
  column_scale_.assign(n_, 0.0);
  row_scale_.assign(n_, 0.0);
  for (std::size_t r = 0; r < n_; ++r)
    for (std::size_t c = 0; c < n_; ++c) {
      const double entry = static_cast<double>(exact_[r * n_ + c]);
      a_[r * n_ + c] = entry;
      column_scale_[c] = larger(column_scale_[c], std::fabs(entry));
    }
  for (double& factor : column_scale_) {
    if (!(factor > 0.0) || !std::isfinite(factor)) return false;
    factor = 1.0 / factor;
  }
  for (std::size_t r = 0; r < n_; ++r) {
    double* row = a_.data() + r * n_;
    double most = 0.0;
    for (std::size_t c = 0; c < n_; ++c) {
      row[c] *= column_scale_[c];
      most = larger(most, std::fabs(row[c]));
    }
    if (!(most > 0.0)) return false;
    row_scale_[r] = 1.0 / most;
    for (std::size_t c = 0; c < n_; ++c) row[c] *= row_scale_[r];
  }
  return true;
}

bool SmallFactors::factor(std::vector<long double> matrix, std::size_t n, long double floor) {
  n_ = n;
  exact_ = std::move(matrix);
  row_.resize(n);
  column_.resize(n);
  if (std::any_of(exact_.begin(), exact_.end(), [](long double entry) { return !std::isfinite(entry); })) return false;
  if (!scale()) return false;
  const double least = static_cast<double>(floor);
  std::vector<double>& most = step_;  // of each row, where pivots are still looked for
  most.assign(n, 0.0);
  for (std::size_t r = 0; r < n; ++r) most[r] = largest(a_.data() + r * n, n);
  for (std::size_t k = 0; k < n; ++k) {
    const auto from = most.begin() + static_cast<std::ptrdiff_t>(k);
    row_[k] = k + static_cast<std::size_t>(std::max_element(from, most.end()) - from);
    const double* best = a_.data() + row_[k] * n;
    column_[k] = k;
    while (column_[k] + 1 < n && std::fabs(best[column_[k]]) != most[row_[k]]) ++column_[k];
    if (!(most[row_[k]] > least)) return false;
    if (row_[k] != k) {
      std::swap_ranges(a_.data() + k * n, a_.data() + k * n + n, a_.data() + row_[k] * n);
      std::swap(most[k], most[row_[k]]);
    }
    if (column_[k] != k)
      for (std::size_t r = 0; r < n; ++r) std::swap(a_[r * n + k], a_[r * n + column_[k]]);
    const double* top = a_.data() + k * n;
    const double inverse = 1.0 / top[k];
    a_[k * n + k] = inverse;
    for (std::size_t r = k + 1; r < n; ++r) {
      double* row = a_.data() + r * n;
      const double factor = row[k] * inverse;
      row[k] = factor;
      if (factor != 0.0) take_away(row + k + 1, top + k + 1, factor, n - k - 1);
      most[r] = largest(row + k + 1, n - k - 1);
    }
  }
  return true;
}

// To ordinary precision.
void SmallFactors::solve_roughly(std::vector<double>& x) const {
  for (std::size_t r = 0; r < n_; ++r) x[r] *= row_scale_[r];
  for (std::size_t k = 0; k < n_; ++k) std::swap(x[k], x[row_[k]]);
  for (std::size_t r = 1; r < n_; ++r) x[r] -= product(a_.data() + r * n_, x.data(), r);
  for (std::size_t k = n_; k-- > 0;)
    x[k] = (x[k] - product(a_.data() + k * n_ + k + 1, x.data() + k + 1, n_ - k - 1)) * a_[k * n_ + k];
  for (std::size_t k = n_; k-- > 0;) std::swap(x[k], x[column_[k]]);
  for (std::size_t c = 0; c < n_; ++c) x[c] *= column_scale_[c];
}

void SmallFactors::solve_transposed_roughly(std::vector<double>& x) const {
  for (std::size_t c = 0; c < n_; ++c) x[c] *= column_scale_[c];
  for (std::size_t k = 0; k < n_; ++k) std::swap(x[k], x[column_[k]]);
  for (std::size_t k = 0; k < n_; ++k) {
    x[k] *= a_[k * n_ + k];
    if (x[k] != 0.0) take_away(x.data() + k + 1, a_.data() + k * n_ + k + 1, x[k], n_ - k - 1);
  }
  for (std::size_t r = n_; r-- > 1;)
    if (x[r] != 0.0) take_away(x.data(), a_.data() + r * n_, x[r], r);
  for (std::size_t k = n_; k-- > 0;) std::swap(x[k], x[row_[k]]);
  for (std::size_t r = 0; r < n_; ++r) x[r] *= row_scale_[r];
}

// `scale`: by which the rows of what is solved for are multiplied. `take_away` takes the matrix times a step from what
// is left.
template <class Roughly, class TakeAway>
void SmallFactors::refine(std::vector<long double>& x, const std::vector<double>& scale, Roughly roughly,
                          TakeAway take_away) const {
  left_ = x;
  std::fill(x.begin(), x.end(), 0.0L);
  for (int round = 0; round < kMostRounds; ++round) {
    step_.assign(left_.begin(), left_.end());
    roughly(step_);
    long double most = 0.0L, moved = 0.0L;
    for (std::size_t c = 0; c < n_; ++c) {
      x[c] += step_[c];
      most = std::max(most, std::fabs(x[c] / scale[c]));
      moved = std::max(moved, std::fabs(static_cast<long double>(step_[c] / scale[c])));
    }
    // What is left is smaller than this step as this one is than the whole.
    if (!(moved * moved > kSolved * most * most) || round + 1 == kMostRounds) return;
    take_away();
  }
}

void SmallFactors::solve(std::vector<long double>& x) const {
  const auto take_away = [&] {
    for (std::size_t r = 0; r < n_; ++r)
      for (std::size_t c = 0; c < n_; ++c) left_[r] -= exact_[r * n_ + c] * step_[c];
  };
  refine(
      x, column_scale_, [&](std::vector<double>& step) { solve_roughly(step); }, take_away);
}

void SmallFactors::solve_transposed(std::vector<long double>& x) const {
  const auto take_away = [&] {
    for (std::size_t r = 0; r < n_; ++r)
      for (std::size_t c = 0; c < n_; ++c) left_[c] -= exact_[r * n_ + c] * step_[r];
  };
  refine(
      x, row_scale_, [&](std::vector<double>& step) { solve_transposed_roughly(step); }, take_away);
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
