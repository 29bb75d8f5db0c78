// SPDX-License-Identifier: Apache-2.0
// Several pairs of hands, and what was asked before, change how long belief takes and nothing else: by several hands
// the same suspects and predictions to the last bit; after other questions the same to the last digits, as what was
// asked of a fault before may have a say in how sums round.
#include <gtest/gtest.h>

#include <cmath>

#include "app/belief.h"
#include "candidates/generate.h"
#include "system/threads.h"
#include "tests/support/fleet_loom.h"

namespace halfsplit {
namespace {

struct Vehicle {
  Vehicle() {
    const test::ExampleLoom e = test::load_fleet_loom(300, 7).value();
    loom = std::make_shared<app::LoadedLoom>();
    loom->loom = e.loom;
    loom->netlist = circuit::build_netlist(loom->loom);
    loom->universe = fault::make_universe(loom->loom, loom->netlist);
    app::Evidence seen;
    seen.entry = 1;
    seen.observation.what.kind = evidence::Kind::kCode;
    seen.observation.what.code = circuit::CodeId(0);
    seen.observation.what.configuration = candidates::at_work(loom->loom);
    seen.observation.seen.category = 0;
    evidence.push_back(seen);
    for (std::size_t i = 0; i < 12; ++i) {
      evidence::Observable what;
      what.kind = i % 3 == 0 ? evidence::Kind::kOhms : evidence::Kind::kVolts;
      if (i % 3 != 0) what.configuration = candidates::at_work(loom->loom);
      what.red = circuit::PointId(17 * i % loom->netlist.points.size());
      what.black = circuit::PointId((31 * i + 5) % loom->netlist.points.size());
      tests.push_back(what);
    }
    for (std::size_t f = 0; f < 400; ++f)
      cases.push_back({{{fault::FaultId(3 * f % loom->universe.faults.size()), 0.5}}});
  }
  std::shared_ptr<app::LoadedLoom> loom;
  std::vector<app::Evidence> evidence;
  std::vector<evidence::Observable> tests;
  std::vector<predict::Case> cases;
};

std::vector<double> numbers(const evidence::Prediction& p) {
  std::vector<double> all{p.settled ? 1.0 : 0.0};
  for (const evidence::Component& c : p.components) {
    all.insert(all.end(), {c.weight, c.mean, c.sigma, c.over_range ? 1.0 : 0.0});
    all.insert(all.end(), c.category.begin(), c.category.end());
  }
  return all;
}

void expect_same(const evidence::ResponseTable& one, const evidence::ResponseTable& other) {
  ASSERT_EQ(one.rows(), other.rows());
  ASSERT_EQ(one.columns(), other.columns());
  for (std::size_t r = 0; r < one.rows(); ++r)
    for (std::size_t c = 0; c < one.columns(); ++c) ASSERT_EQ(numbers(one.at(r, c)), numbers(other.at(r, c)));
}

TEST(Hands, GiveTheSameBelief) {
  Vehicle v;
  system::Threads threads(3);
  app::BeliefEngine alone(v.loom), shared(v.loom);
  shared.use_hands(&threads);
  const infer::Posterior& one = alone.update(v.evidence, {}).posterior;
  const infer::Posterior& other = shared.update(v.evidence, {}).posterior;
  ASSERT_EQ(one.suspects.size(), other.suspects.size());
  ASSERT_GT(one.suspects.size(), 10U);
  for (std::size_t s = 0; s < one.suspects.size(); ++s)
    ASSERT_EQ(one.suspects[s].probability, other.suspects[s].probability);
}

TEST(Hands, ForecastTheSame) {
  Vehicle v;
  system::Threads threads(3);
  app::BeliefEngine alone(v.loom), shared(v.loom);
  shared.use_hands(&threads);
  expect_same(alone.forecast(v.cases, v.tests, {}), shared.forecast(v.cases, v.tests, {}));
}

void expect_nearly_same(const evidence::ResponseTable& one, const evidence::ResponseTable& other) {
  constexpr double kRounding = 1.0e-12;  // of the figure
  ASSERT_EQ(one.rows(), other.rows());
  ASSERT_EQ(one.columns(), other.columns());
  for (std::size_t r = 0; r < one.rows(); ++r)
    for (std::size_t c = 0; c < one.columns(); ++c) {
      const std::vector<double> a = numbers(one.at(r, c));
      const std::vector<double> b = numbers(other.at(r, c));
      ASSERT_EQ(a.size(), b.size());
      for (std::size_t i = 0; i < a.size(); ++i) ASSERT_NEAR(a[i], b[i], kRounding * std::abs(a[i]));
    }
}

TEST(Forecast, IsWhatIsPredictedWhateverWasAskedBefore) {
  const Vehicle v;
  app::BeliefEngine engine(v.loom);
  predict::Campaign campaign(v.loom->loom, v.loom->netlist, v.loom->universe);
  const std::vector<predict::Case> some(v.cases.begin(), v.cases.begin() + 60),
      more(v.cases.begin() + 30, v.cases.begin() + 90);
  const std::vector<evidence::Observable> few(v.tests.begin(), v.tests.begin() + 7),
      others(v.tests.begin() + 4, v.tests.end());
  expect_nearly_same(engine.forecast(some, few, {}), campaign.predict(some, few));
  expect_nearly_same(engine.forecast(more, others, {}), campaign.predict(more, others));
  expect_nearly_same(engine.forecast(some, few, {}), campaign.predict(some, few));
}

TEST(Forecast, KeepsNothingOfWhatWasBrokenOff) {
  const Vehicle v;
  app::BeliefEngine engine(v.loom);
  predict::Campaign campaign(v.loom->loom, v.loom->netlist, v.loom->universe);
  const base::CancelToken cancel;
  cancel.cancel();
  (void)engine.forecast(v.cases, v.tests, cancel);
  expect_same(engine.forecast(v.cases, v.tests, {}), campaign.predict(v.cases, v.tests));
}

}  // namespace
}  // namespace halfsplit
