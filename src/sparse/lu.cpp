// SPDX-License-Identifier: Apache-2.0
#include "sparse/lu.h"

#include <suitesparse/amd.h>
#include <suitesparse/klu.h>

#include <algorithm>
#include <numeric>
#include <span>

#include "base/check.h"

namespace halfsplit::sparse {

namespace {
constexpr double kTinyPivot = 1.0e-4;    // against the largest of its column: below, another row is taken
constexpr double kLeastGrowth = 1.0e-4;  // reciprocal pivot growth (KLU's measure) from which old pivots serve on
}  // namespace

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

  // With the pivots of the last time where they still serve: none has become tiny against its column.
  bool factor_numeric_again() {
    if (numeric == nullptr || common.btf != 0) return factor_numeric();
    ++factors;
    const bool done =
        klu_refactor(starts(), rows(), values(), symbolic, numeric, &common) != 0 && common.status == KLU_OK;
    const bool sound = done && klu_rgrowth(starts(), rows(), values(), symbolic, numeric, &common) != 0 &&
                       common.rgrowth > kLeastGrowth;
    return sound || factor_numeric();
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

std::vector<int> order_by_degree(std::size_t size, const std::vector<std::pair<int, int>>& edges) {
  std::vector<int> start(size + 1, 0), row(2 * edges.size()), order(size);
  for (const auto& [a, b] : edges) {
    ++start[static_cast<std::size_t>(a) + 1];
    ++start[static_cast<std::size_t>(b) + 1];
  }
  for (std::size_t c = 0; c < size; ++c) start[c + 1] += start[c];
  std::vector<int> at(start.begin(), start.end() - 1);
  for (const auto& [a, b] : edges) {
    row[static_cast<std::size_t>(at[static_cast<std::size_t>(a)]++)] = b;
    row[static_cast<std::size_t>(at[static_cast<std::size_t>(b)]++)] = a;
  }
  if (edges.empty()) {
    std::iota(order.begin(), order.end(), 0);
    return order;
  }
  // Edges may stand twice: AMD sorts a copy then, and says so by AMD_OK_BUT_JUMBLED.
  const int status = amd_order(static_cast<int>(size), start.data(), row.data(), order.data(), nullptr, nullptr);
  HS_CHECK(status == AMD_OK || status == AMD_OK_BUT_JUMBLED, "a symmetric pattern can be ordered");
  return order;
}

bool Lu::factor(const Matrix& matrix) {
  inside_->drop();
  inside_->matrix = matrix;
  if (matrix.size() == 0) return true;
  klu_defaults(&inside_->common);
  inside_->symbolic =
      klu_analyze(static_cast<int>(matrix.size()), inside_->starts(), inside_->rows(), &inside_->common);
  return inside_->symbolic != nullptr && inside_->factor_numeric();
}

bool Lu::factor(const Matrix& matrix, const Ordering& ordering) {
  HS_CHECK(ordering.rows.size() == matrix.size() && ordering.columns.size() == matrix.size(),
           "an ordering names every row and column");
  inside_->drop();
  inside_->matrix = matrix;
  if (matrix.size() == 0) return true;
  klu_defaults(&inside_->common);
  inside_->common.btf = 0;
  inside_->common.tol = kTinyPivot;
  inside_->symbolic = klu_analyze_given(static_cast<int>(matrix.size()), inside_->starts(), inside_->rows(),
                                        const_cast<int*>(ordering.rows.data()),
                                        const_cast<int*>(ordering.columns.data()), &inside_->common);
  return inside_->symbolic != nullptr && inside_->factor_numeric();
}

bool Lu::factor_again(const Matrix& matrix) {
  if (inside_->symbolic == nullptr || matrix.size() != inside_->matrix.size() ||
      matrix.entries() != inside_->matrix.entries())
    return factor(matrix);
  inside_->matrix = matrix;
  return inside_->factor_numeric_again();
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

namespace {

// Compressed columns of one factor as KLU hands it out: its pattern; entries sorted by row.
struct Columns {
  std::vector<int> start, row;
  std::vector<double> value;
  explicit Columns(std::size_t size, int entries)
      : start(size + 1), row(static_cast<std::size_t>(entries)), value(row.size()) {}
  [[nodiscard]] std::span<const int> rows(std::size_t c) const {
    return std::span<const int>(row).subspan(static_cast<std::size_t>(start[c]),
                                             static_cast<std::size_t>(start[c + 1] - start[c]));
  }
};

// The same elimination again, on the pattern and pivots of KLU, in extended precision (left-looking: Gilbert and
// Peierls 1988). L by columns without its diagonal of ones; U by rows, its diagonal apart.
class Again {
 public:
  Again(const Matrix& matrix, const Columns& lower, const Columns& upper, const std::vector<int>& column_order,
        Factors& factors)
      : matrix_(matrix), lower_(lower), upper_(upper), order_(column_order), f_(factors), work_(matrix.size(), 0.0L) {}

  void run() {
    const std::size_t n = matrix_.size();
    f_.lower.start.assign(n + 1, 0);
    f_.upper_transposed.start.assign(n + 1, 0);
    f_.upper_transposed.diagonal.assign(n, 1.0L);
    for (std::size_t c = 0; c < n; ++c)
      for (const int r : upper_.rows(c))
        if (static_cast<std::size_t>(r) != c) ++f_.upper_transposed.start[static_cast<std::size_t>(r) + 1];
    for (std::size_t c = 0; c < n; ++c) f_.upper_transposed.start[c + 1] += f_.upper_transposed.start[c];
    f_.upper_transposed.row.resize(f_.upper_transposed.start[n]);
    f_.upper_transposed.value.resize(f_.upper_transposed.start[n]);
    at_.assign(f_.upper_transposed.start.begin(), f_.upper_transposed.start.end() - 1);
    for (std::size_t c = 0; c < n; ++c) column(c);
  }

 private:
  void column(std::size_t c) {
    const auto source = static_cast<std::size_t>(order_[c]);
    for (auto k = static_cast<std::size_t>(matrix_.column_starts()[source]);
         k < static_cast<std::size_t>(matrix_.column_starts()[source + 1]); ++k) {
      const auto row = static_cast<std::size_t>(matrix_.rows()[k]);
      work_[f_.row_at[row]] += static_cast<long double>(matrix_.values()[k]) / f_.row_scale[row];
    }
    for (const int r : upper_.rows(c)) {
      const auto j = static_cast<std::size_t>(r);
      if (j == c) continue;
      const long double u = work_[j];
      work_[j] = 0.0L;
      f_.upper_transposed.row[at_[j]] = static_cast<std::uint32_t>(c);
      f_.upper_transposed.value[at_[j]++] = u;
      if (u == 0.0L) continue;
      for (std::uint32_t k = f_.lower.start[j]; k < f_.lower.start[j + 1]; ++k)
        work_[f_.lower.row[k]] -= f_.lower.value[k] * u;
    }
    const long double pivot = work_[c];
    work_[c] = 0.0L;
    f_.upper_transposed.diagonal[c] = pivot;
    for (const int r : lower_.rows(c)) {
      const auto i = static_cast<std::size_t>(r);
      if (i == c) continue;
      f_.lower.row.push_back(static_cast<std::uint32_t>(i));
      f_.lower.value.push_back(work_[i] / pivot);
      work_[i] = 0.0L;
    }
    f_.lower.start[c + 1] = static_cast<std::uint32_t>(f_.lower.row.size());
  }

  const Matrix& matrix_;
  const Columns& lower_;
  const Columns& upper_;
  const std::vector<int>& order_;
  Factors& f_;
  std::vector<long double> work_;
  std::vector<std::uint32_t> at_;
};

}  // namespace

Factors Lu::extract() const {
  Inside& in = *inside_;
  HS_CHECK(in.numeric != nullptr, "factors before a good factor");
  const std::size_t size = in.matrix.size();
  klu_sort(in.symbolic, in.numeric, &in.common);
  Columns lower(size, in.numeric->lnz);
  Columns upper(size, in.numeric->unz);
  std::vector<int> p(size), q(size), blocks(size + 1);
  std::vector<double> scale(size);
  const int done = klu_extract(in.numeric, in.symbolic, lower.start.data(), lower.row.data(), lower.value.data(),
                               upper.start.data(), upper.row.data(), upper.value.data(), nullptr, nullptr, nullptr,
                               p.data(), q.data(), scale.data(), blocks.data(), &in.common);
  HS_CHECK(done != 0 && in.symbolic->nblocks == 1, "factors of one block can be taken out");
  Factors f;
  f.row_at.resize(size);
  f.column_at.resize(size);
  f.row_scale.resize(size);
  for (std::size_t k = 0; k < size; ++k) {
    f.row_at[static_cast<std::size_t>(p[k])] = static_cast<std::uint32_t>(k);
    f.column_at[static_cast<std::size_t>(q[k])] = static_cast<std::uint32_t>(k);
    f.row_scale[static_cast<std::size_t>(p[k])] = scale[k];
  }
  Again(in.matrix, lower, upper, q, f).run();
  return f;
}

std::size_t Lu::solves() const { return inside_->solves; }
std::size_t Lu::factors() const { return inside_->factors; }

}  // namespace halfsplit::sparse
