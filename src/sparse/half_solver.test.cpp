// SPDX-License-Identifier: Apache-2.0
// Halves against whole solves, on random matrices from printed seeds.
#include "sparse/half_solver.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/rng.h"
#include "sparse/lu.h"

namespace halfsplit::sparse {
namespace {

Ordering as_they_come(std::size_t n) {
  std::vector<int> order(n);
  std::iota(order.begin(), order.end(), 0);
  return {order, order};
}

Ordering backwards(std::size_t n) {
  Ordering order = as_they_come(n);
  std::reverse(order.rows.begin(), order.rows.end());
  order.columns = order.rows;
  return order;
}

// A random tree with a few loops: what a loom looks like. Each node hangs on an earlier one.
std::vector<Triplet> tree_triplets(base::Rng& rng, int n) {
  std::vector<Triplet> made;
  const auto branch = [&](int a, int b) {
    const double g = rng.log_uniform(1e-3, 1e3);
    made.push_back({a, a, g});
    made.push_back({b, b, g});
    made.push_back({a, b, -g});
    made.push_back({b, a, -g * rng.uniform(0.9, 1.1)});
  };
  for (int i = 1; i < n; ++i) branch(i, static_cast<int>(rng.below(static_cast<std::size_t>(i))));
  for (int i = 0; i < n / 10; ++i)
    branch(static_cast<int>(rng.below(static_cast<std::size_t>(n))),
           static_cast<int>(rng.below(static_cast<std::size_t>(n))));
  for (int i = 0; i < n; ++i) made.push_back({i, i, 1e-3});
  return made;
}

TEST(HalfSolver, AnyEntryOfASolveIsOneDotProduct) {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    SCOPED_TRACE(seed);
    base::Rng rng(seed);
    const int n = 1 + static_cast<int>(rng.below(120));
    Lu lu;
    ASSERT_TRUE(lu.factor(Matrix(static_cast<std::size_t>(n), tree_triplets(rng, n)),
                          as_they_come(static_cast<std::size_t>(n))));
    HalfSolver halves(lu.extract());
    const std::size_t a = rng.below(static_cast<std::size_t>(n));
    const std::size_t b = rng.below(static_cast<std::size_t>(n));
    std::vector<double> x(static_cast<std::size_t>(n), 0.0);
    x[a] += 2.0;
    x[b] -= 3.0;
    lu.solve(x);
    const Half left = halves.left(std::vector<Entry>{{a, 2.0}, {b, -3.0}});
    Spread spread(halves.size());
    spread.add(left, 1.0);
    RoughSpread rough(halves.size());
    rough.add(left, 0.25);
    rough.add(left, 0.75);
    for (std::size_t j = 0; j < x.size(); ++j) {
      const Half right = halves.right(std::vector<Entry>{{j, 1.0}});
      const double allowed = 1e-9 * (std::fabs(x[j]) + 1.0);
      EXPECT_NEAR(static_cast<double>(dot(left, right)), x[j], allowed);
      EXPECT_NEAR(static_cast<double>(spread.dot(right)), x[j], allowed);
      EXPECT_NEAR(rough.dot(right), x[j], allowed);
    }
    spread.clear();
    rough.clear();
    EXPECT_EQ(rough.dot(left), 0.0);
    EXPECT_EQ(spread.dot(left), 0.0L);
  }
}

TEST(HalfSolver, AHalfOfADifferenceIsTheDifference) {
  base::Rng rng(7);
  Lu lu;
  ASSERT_TRUE(lu.factor(Matrix(60, tree_triplets(rng, 60)), as_they_come(60)));
  HalfSolver halves(lu.extract());
  const Half left = halves.left(std::vector<Entry>{{5, 1.0}});
  const double apart =
      dot(halves.right(std::vector<Entry>{{9, 1.0}}), left) - dot(halves.right(std::vector<Entry>{{31, 1.0}}), left);
  EXPECT_NEAR(dot(halves.right(std::vector<Entry>{{9, 1.0}, {31, -1.0}}), left), apart,
              1e-9 * (1.0 + std::fabs(apart)));
}

// What makes halves worth having: on a chain hung on a hub they hold the way to the root, not the whole.
TEST(HalfSolver, AHalfHoldsNoMoreThanTheWayToTheRoot) {
  std::vector<Triplet> made;
  const int arms = 200;
  const int length = 20;
  for (int arm = 0; arm < arms; ++arm)
    for (int k = 0; k < length; ++k) {
      const int node = 1 + arm * length + k;
      const int towards = k == 0 ? 0 : node - 1;
      made.insert(made.end(),
                  {{node, node, 1.0}, {towards, towards, 1.0}, {node, towards, -1.0}, {towards, node, -1.0}});
    }
  made.push_back({0, 0, 1.0});
  Lu lu;
  ASSERT_TRUE(lu.factor(Matrix(1 + arms * length, made), backwards(1 + arms * length)));
  HalfSolver halves(lu.extract());
  EXPECT_LE(halves.left(std::vector<Entry>{{300, 1.0}}).size(), static_cast<std::size_t>(length) + 1);
  EXPECT_LE(halves.right(std::vector<Entry>{{3777, 1.0}}).size(), static_cast<std::size_t>(length) + 1);
}

}  // namespace
}  // namespace halfsplit::sparse
