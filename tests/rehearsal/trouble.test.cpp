// SPDX-License-Identifier: Apache-2.0
// What virtual vehicles are given to hide comes in the shares that belief starts from. Seeds are fixed; bounds are four
// and a half standard errors.
#include "app/trouble.h"

#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "tests/support/example_loom.h"

namespace halfsplit::app {
namespace {

constexpr std::uint64_t kSeed = 31;
constexpr int kDraws = 20000;

LoadedLoom example(const std::string& name) {
  const test::ExampleLoom example = test::load_example(".", name);
  LoadedLoom loom;
  loom.loom = example.loom;
  loom.netlist = example.netlist;
  loom.universe = example.universe;
  return loom;
}

void expect_share(double count, double of, double share, const std::string& what) {
  const double spread = std::sqrt(of * share * (1.0 - share));
  EXPECT_NEAR(count, of * share, 4.5 * spread + 1.0) << what << ", seed " << kSeed;
}

TEST(Trouble, SinglesPairsAndTheRestComeInTheirShares) {
  const infer::PriorShares shares{0.03, 0.05};
  for (const char* name : test::kExamples) {
    const LoadedLoom loom = example(name);
    base::Rng rng(kSeed);
    std::map<std::string, double> count;
    for (int i = 0; i < kDraws; ++i) {
      const std::string kind = draw_trouble(loom, shares, rng).kind(loom.universe);
      count[kind == "pair" || kind == "not on this drawing" ? kind : "single"] += 1.0;
    }
    expect_share(count["pair"], kDraws, 0.03, name);
    expect_share(count["not on this drawing"], kDraws, 0.05, name);
    expect_share(count["single"], kDraws, 0.92, name);
  }
}

TEST(Trouble, SinglesComeByRateAndSeveritiesEvenly) {
  const LoadedLoom loom = example("gritter");
  double total = 0.0;
  for (const fault::Fault& f : loom.universe.faults) total += f.rate_per_year;
  base::Rng rng(kSeed);
  std::map<fault::FaultId, double> count;
  double quantiles = 0.0;
  for (int i = 0; i < kDraws; ++i) {
    const Trouble trouble = draw_trouble(loom, {0.0, 0.0}, rng);
    ASSERT_EQ(trouble.faults.size(), 1U);
    count[trouble.faults[0].first] += 1.0;
    quantiles += trouble.faults[0].second;
  }
  for (std::size_t i = 0; i < loom.universe.faults.size(); ++i)
    expect_share(count[fault::FaultId(i)], kDraws, loom.universe.faults[i].rate_per_year / total,
                 loom.universe.faults[i].name);
  EXPECT_NEAR(quantiles / kDraws, 0.5, 4.5 * std::sqrt(1.0 / 12.0 / kDraws));
}

TEST(Trouble, PairsComeByTheProductOfTheirRates) {
  const LoadedLoom loom = example("gritter");
  double total = 0.0;
  double squares = 0.0;
  std::size_t most = 0;
  for (std::size_t i = 0; i < loom.universe.faults.size(); ++i) {
    const double rate = loom.universe.faults[i].rate_per_year;
    total += rate;
    squares += rate * rate;
    if (rate > loom.universe.faults[most].rate_per_year) most = i;
  }
  const double its = loom.universe.faults[most].rate_per_year;
  base::Rng rng(kSeed);
  double with_it = 0.0;
  for (int i = 0; i < kDraws; ++i) {
    const Trouble trouble = draw_trouble(loom, {0.999, 0.0}, rng);
    if (trouble.faults.size() < 2) continue;
    EXPECT_NE(trouble.faults[0].first, trouble.faults[1].first);
    for (const auto& [id, quantile] : trouble.faults) with_it += id.index() == most ? 1.0 : 0.0;
  }
  expect_share(with_it, kDraws, 0.999 * 2.0 * its * (total - its) / (total * total - squares),
               "most frequent in a pair");
}

TEST(Trouble, BeyondTheDrawingIsWhatNoFaultMakes) {
  for (const char* name : test::kExamples) {
    const LoadedLoom loom = example(name);
    base::Rng rng(kSeed);
    std::map<std::string, double> count;
    for (int i = 0; i < 3000; ++i) {
      const Trouble trouble = draw_beyond_drawing(loom, rng);
      ASSERT_FALSE(trouble.beyond.empty());
      EXPECT_TRUE(trouble.faults.empty());
      count[trouble.beyond_name] += 1.0;
      const fault::Change& joins = trouble.beyond.back();
      if (trouble.beyond.size() > 1) continue;  // wired otherwise
      EXPECT_NE(joins.a, joins.b);
      for (const fault::Fault& f : loom.universe.faults)
        EXPECT_FALSE((f.a == joins.a && f.b == joins.b) || (f.a == joins.b && f.b == joins.a)) << f.name;
    }
    ASSERT_EQ(count.size(), 3U);
    for (const auto& [kind, times] : count) expect_share(times, 3000, 1.0 / 3.0, kind);
  }
}

}  // namespace
}  // namespace halfsplit::app
