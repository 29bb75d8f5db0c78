// SPDX-License-Identifier: Apache-2.0
#include "sparse/lu.h"

#include <suitesparse/klu.h>

#include "base/check.h"

namespace halfsplit::sparse {

struct Lu::Inside {
  klu_common common{};
  klu_symbolic* symbolic = nullptr;
  klu_numeric* numeric = nullptr;
  Matrix matrix;
  mutable std::vector<double> rhs, step;
  mutable std::vector<long double> residual;
  mutable std::size_t solves = 0;
  std::size_t factors = 0;

  Inside() { klu_defaults(&common); }
  ~Inside() { drop(); }
  Inside(const Inside&) = delete;
  Inside& operator=(const Inside&) = delete;

  void drop() {
    if (numeric != nullptr) klu_free_numeric(&numeric, &common);
    if (symbolic != nullptr) klu_free_symbolic(&symbolic, &common);
  }

  int* starts() { return const_cast<int*>(matrix.column_starts().data()); }
  int* rows() { return const_cast<int*>(matrix.rows().data()); }
  double* values() { return const_cast<double*>(matrix.values().data()); }

  bool factor_numeric() {
    if (numeric != nullptr) klu_free_numeric(&numeric, &common);
    ++factors;
    numeric = klu_factor(starts(), rows(), values(), symbolic, &common);
    return numeric != nullptr && common.status == KLU_OK;
  }

  // residual = b - A x, each product and sum in extended precision.
  void compute_residual(const std::vector<double>& x) const {
    residual.assign(rhs.begin(), rhs.end());
    const auto& start = matrix.column_starts();
    const auto& row = matrix.rows();
    const auto& value = matrix.values();
    for (std::size_t c = 0; c < matrix.size(); ++c)
      for (int k = start[c]; k < start[c + 1]; ++k)
        residual[static_cast<std::size_t>(row[static_cast<std::size_t>(k)])] -=
            static_cast<long double>(value[static_cast<std::size_t>(k)]) * static_cast<long double>(x[c]);
  }
};

Lu::Lu() : inside_(std::make_unique<Inside>()) {}
Lu::~Lu() = default;
Lu::Lu(Lu&&) noexcept = default;
Lu& Lu::operator=(Lu&&) noexcept = default;

bool Lu::factor(const Matrix& matrix) {
  inside_->drop();
  inside_->matrix = matrix;
  if (matrix.size() == 0) return true;
  inside_->symbolic =
      klu_analyze(static_cast<int>(matrix.size()), inside_->starts(), inside_->rows(), &inside_->common);
  return inside_->symbolic != nullptr && inside_->factor_numeric();
}

bool Lu::factor_again(const Matrix& matrix) {
  if (inside_->symbolic == nullptr || matrix.size() != inside_->matrix.size() ||
      matrix.entries() != inside_->matrix.entries())
    return factor(matrix);
  inside_->matrix = matrix;
  return inside_->factor_numeric();
}

void Lu::solve(std::vector<double>& x, int refinements) const {
  Inside& in = *inside_;
  if (in.matrix.size() == 0) return;
  HS_CHECK(in.numeric != nullptr, "solve before a good factor");
  const int n = static_cast<int>(in.matrix.size());
  if (refinements > 0) in.rhs = x;
  klu_solve(in.symbolic, in.numeric, n, 1, x.data(), &in.common);
  ++in.solves;
  for (int i = 0; i < refinements; ++i) {
    in.compute_residual(x);
    in.step.assign(in.residual.begin(), in.residual.end());
    klu_solve(in.symbolic, in.numeric, n, 1, in.step.data(), &in.common);
    for (std::size_t k = 0; k < x.size(); ++k) x[k] += in.step[k];
  }
}

void Lu::solve_transposed(std::vector<double>& x) const {
  Inside& in = *inside_;
  if (in.matrix.size() == 0) return;
  HS_CHECK(in.numeric != nullptr, "solve before a good factor");
  klu_tsolve(in.symbolic, in.numeric, static_cast<int>(in.matrix.size()), 1, x.data(), &in.common);
  ++in.solves;
}

std::size_t Lu::solves() const { return inside_->solves; }
std::size_t Lu::factors() const { return inside_->factors; }

}  // namespace halfsplit::sparse
