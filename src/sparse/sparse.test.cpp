// SPDX-License-Identifier: Apache-2.0
// Sparse LU, matrix and small inverse against plain dense elimination in extended precision, on random matrices from
// printed seeds.
#include <gtest/gtest.h>

#include <cmath>

#include "base/check.h"
#include "base/rng.h"
#include "sparse/dense.h"
#include "sparse/lu.h"
#include "sparse/matrix.h"

namespace halfsplit::sparse {
namespace {

using Dense = std::vector<std::vector<long double>>;

Dense dense_of(std::size_t n, const std::vector<Triplet>& triplets, bool transposed = false) {
  Dense a(n, std::vector<long double>(n, 0.0L));
  for (const Triplet& t : triplets)
    a[static_cast<std::size_t>(transposed ? t.column : t.row)]
     [static_cast<std::size_t>(transposed ? t.row : t.column)] += t.value;
  return a;
}

// Gaussian elimination with partial pivoting.
std::vector<long double> solve_dense(Dense a, std::vector<long double> b) {
  const std::size_t n = b.size();
  for (std::size_t k = 0; k < n; ++k) {
    std::size_t p = k;
    for (std::size_t r = k + 1; r < n; ++r)
      if (std::fabs(a[r][k]) > std::fabs(a[p][k])) p = r;
    std::swap(a[k], a[p]);
    std::swap(b[k], b[p]);
    for (std::size_t r = k + 1; r < n; ++r) {
      const long double m = a[r][k] / a[k][k];
      for (std::size_t c = k; c < n; ++c) a[r][c] -= m * a[k][c];
      b[r] -= m * b[k];
    }
  }
  for (std::size_t k = n; k-- > 0;) {
    for (std::size_t c = k + 1; c < n; ++c) b[k] -= a[k][c] * b[c];
    b[k] /= a[k][k];
  }
  return b;
}

// A diagonal that is there, some off it, some entries twice.
std::vector<Triplet> random_triplets(base::Rng& rng, int n) {
  std::vector<Triplet> made;
  for (int i = 0; i < n; ++i) {
    made.push_back({i, i, rng.log_uniform(0.1, 1000.0) * (rng.chance(0.5) ? 1.0 : -1.0)});
    for (std::size_t k = rng.below(4); k > 0; --k)
      made.push_back({i, static_cast<int>(rng.below(static_cast<std::size_t>(n))), rng.normal()});
  }
  made.push_back(made.front());
  return made;
}

void expect_solves(const std::vector<Triplet>& triplets, const Lu& lu, std::size_t n, base::Rng& rng) {
  std::vector<double> b(n);
  for (double& v : b) v = rng.normal();
  const std::vector<long double> wide(b.begin(), b.end());
  std::vector<double> x = b;
  lu.solve(x);
  std::vector<double> y = b;
  lu.solve_transposed(y);
  const auto expected = solve_dense(dense_of(n, triplets), wide);
  const auto expected_transposed = solve_dense(dense_of(n, triplets, true), wide);
  long double size = 0.0L;
  for (std::size_t i = 0; i < n; ++i)
    size = std::max({size, std::fabs(expected[i]), std::fabs(expected_transposed[i])});
  for (std::size_t i = 0; i < n; ++i) {
    EXPECT_NEAR(x[i], static_cast<double>(expected[i]), 1.0e-11 * static_cast<double>(size)) << i;
    EXPECT_NEAR(y[i], static_cast<double>(expected_transposed[i]), 1.0e-10 * static_cast<double>(size)) << i;
  }
}

TEST(Lu, SolvesAsDenseEliminationDoes) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    const std::size_t n = 1 + rng.below(30);
    std::vector<Triplet> triplets = random_triplets(rng, static_cast<int>(n));
    Matrix matrix(n, triplets);
    Lu lu;
    ASSERT_TRUE(lu.factor(matrix));
    expect_solves(triplets, lu, n, rng);
    for (Triplet& t : triplets) t.value *= rng.uniform(0.5, 2.0);  // new values on the same pattern
    matrix.refill(triplets);
    ASSERT_TRUE(lu.factor_again(matrix));
    expect_solves(triplets, lu, n, rng);
  }
}

TEST(Lu, SaysWhenAMatrixIsSingular) {
  Lu lu;
  EXPECT_FALSE(lu.factor(Matrix(2, {{0, 0, 1.0}, {0, 1, 2.0}, {1, 0, 1.0}, {1, 1, 2.0}})));
  EXPECT_FALSE(lu.factor(Matrix(2, {{0, 0, 1.0}, {0, 1, 1.0}}))) << "an empty row";
  EXPECT_TRUE(lu.factor(Matrix(2, {{0, 0, 1.0}, {1, 1, 1.0}}))) << "and works again afterwards";
  std::vector<double> x{3.0, 4.0};
  lu.solve(x);
  EXPECT_EQ(x, (std::vector<double>{3.0, 4.0}));
}

// Two leaks of 1e-9 behind 1e3: plain double keeps four digits of a matrix whose condition is 1e12, refinement against
// a residual of 64 bits some seven.
TEST(Lu, RefinementWinsDigitsOnWideSpreads) {
  const double g = 1.0e3;
  const double one = g + 1.0e-9;
  const double two = g + 2.0e-9;
  Lu lu;
  ASSERT_TRUE(lu.factor(Matrix(2, {{0, 0, one}, {0, 1, -g}, {1, 0, -g}, {1, 1, two}})));
  std::vector<double> plain{1.0, 0.0};
  std::vector<double> x = plain;
  lu.solve(plain, 0);
  lu.solve(x, 3);
  const long double leak = one - g;  // exact: what is stored, not what was meant
  const long double other = two - g;
  const long double expected = two / (g * (leak + other) + leak * other);
  EXPECT_NEAR(x[0] / static_cast<double>(expected), 1.0, 1.0e-7);
  EXPECT_GT(std::abs(plain[0] / static_cast<double>(expected) - 1.0), 1.0e-6);
  EXPECT_GE(lu.solves(), 1U);
}

TEST(Matrix, SumsDuplicatesAndRefillsInPlace) {
  const std::vector<Triplet> triplets{{1, 0, 2.0}, {0, 0, 1.0}, {1, 0, 3.0}, {1, 1, 4.0}};
  Matrix matrix(2, triplets);
  EXPECT_EQ(matrix.entries(), 3U);
  EXPECT_EQ(matrix.column_starts(), (std::vector<int>{0, 2, 3}));
  EXPECT_EQ(matrix.values(), (std::vector<double>{1.0, 5.0, 4.0}));
  matrix.refill({{1, 0, 1.0}, {0, 0, 7.0}, {1, 0, 1.0}, {1, 1, 0.5}});
  EXPECT_EQ(matrix.values(), (std::vector<double>{7.0, 2.0, 0.5}));
  EXPECT_THROW(matrix.refill({{0, 0, 1.0}}), base::Bug);
  EXPECT_THROW(Matrix(2, {{2, 0, 1.0}}), base::Bug);
}

TEST(InvertSmall, TimesTheMatrixIsOne) {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    base::Rng rng(seed);
    const std::size_t n = 1 + rng.below(12);
    std::vector<long double> a(n * n);
    for (std::size_t r = 0; r < n; ++r) {
      const double scale = rng.log_uniform(1.0e-6, 1.0e6);  // rows of very different size
      for (std::size_t c = 0; c < n; ++c) a[r * n + c] = scale * rng.normal();
    }
    std::vector<long double> inverse = a;
    ASSERT_TRUE(invert_small(inverse, n, 1.0e-12L)) << "seed " << seed;
    for (std::size_t r = 0; r < n; ++r)
      for (std::size_t c = 0; c < n; ++c) {
        long double sum = 0.0L;
        for (std::size_t k = 0; k < n; ++k) sum += inverse[r * n + k] * a[k * n + c];
        EXPECT_NEAR(static_cast<double>(sum), r == c ? 1.0 : 0.0, 1.0e-12) << "seed " << seed;
      }
  }
}

// One row is another but for a millionth: elimination in ordinary precision alone would leave nine digits or fewer.
TEST(SmallFactors, SolvesToExtendedPrecisionWhatIsNearlySingular) {
  for (const std::size_t n : {2, 3, 7, 40, 150}) {
    base::Rng rng(n);
    std::vector<long double> a(n * n), solution(n), rhs(n, 0.0L);
    for (long double& entry : a) entry = rng.normal();
    for (std::size_t c = 0; c < n; ++c) a[(n - 1) * n + c] = a[c] + 1.0e-6L * a[(n - 1) * n + c];
    for (std::size_t c = 0; c < n; ++c) {
      solution[c] = rng.log_uniform(0.1, 10.0);
      for (std::size_t r = 0; r < n; ++r) rhs[r] += a[r * n + c] * solution[c];
    }
    SmallFactors factors;
    ASSERT_TRUE(factors.factor(a, n, 1.0e-12L)) << n;
    factors.solve(rhs);
    for (std::size_t c = 0; c < n; ++c)
      EXPECT_LT(std::fabs(static_cast<double>(rhs[c] - solution[c])), 1.0e-9 * static_cast<double>(solution[c])) << n;
    std::fill(rhs.begin(), rhs.end(), 0.0L);
    for (std::size_t r = 0; r < n; ++r)
      for (std::size_t c = 0; c < n; ++c) rhs[c] += a[r * n + c] * solution[r];
    factors.solve_transposed(rhs);
    for (std::size_t r = 0; r < n; ++r)
      EXPECT_LT(std::fabs(static_cast<double>(rhs[r] - solution[r])), 1.0e-9 * static_cast<double>(solution[r])) << n;
  }
}

TEST(InvertSmall, RefusesWhatStandsBelowItsFloor) {
  std::vector<long double> singular{1.0L, 2.0L, 2.0L, 4.0L};
  EXPECT_FALSE(invert_small(singular, 2, 1.0e-12L));
  std::vector<long double> nearly{1.0L, 1.0L, 1.0L, 1.0L + 1.0e-9L};
  std::vector<long double> same = nearly;
  EXPECT_FALSE(invert_small(nearly, 2, 1.0e-7L));
  EXPECT_TRUE(invert_small(same, 2, 1.0e-12L));
  std::vector<long double> zero_row{1.0L, 1.0L, 0.0L, 0.0L};
  EXPECT_FALSE(invert_small(zero_row, 2, 0.0L));
  std::vector<long double> endless{HUGE_VALL};
  EXPECT_FALSE(invert_small(endless, 1, 0.0L));
}

}  // namespace
}  // namespace halfsplit::sparse
