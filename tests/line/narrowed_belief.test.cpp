// SPDX-License-Identifier: Apache-2.0
// What the app believes, by looking only at what can matter (infer/narrowing.h), against every severity of every single
// fault weighed at every reading, on the demo looms with readings of drawn faults.
#include <gtest/gtest.h>

#include <cmath>

#include "app/belief.h"
#include "app/virtual_vehicle.h"
#include "base/rng.h"
#include "infer/one_severity.h"
#include "infer/posterior.h"
#include "tests/line/path_comparison.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

class NarrowedBelief : public ::testing::TestWithParam<const char*> {};

std::vector<app::Evidence> draw_evidence(const app::LoadedLoom& loom, const test::ExampleLoom& example,
                                         std::uint64_t seed) {
  base::Rng rng(seed);
  app::VirtualVehicle vehicle = app::VirtualVehicle::make(loom, {seed, "", -1.0, 0.0, {}}).value();
  const test::TestsNearby nearby(example);
  const fault::FaultId hidden = vehicle.hidden().faults.at(0).first;
  std::vector<app::Evidence> evidence;
  for (int i = 0; i < 5; ++i)
    for (const evidence::Observable& what : nearby.draw(rng, {hidden}, 1)) {
      app::Evidence e;
      e.entry = static_cast<int>(evidence.size()) + 1;
      e.observation = {what, vehicle.see(what, {})};
      evidence.push_back(std::move(e));
    }
  return evidence;
}

TEST_P(NarrowedBelief, IsTheBeliefOfAllRows) {
  const test::ExampleLoom example = test::load_example(".", GetParam());
  auto loom = std::make_shared<app::LoadedLoom>();
  loom->loom = example.loom;
  loom->netlist = circuit::build_netlist(loom->loom);
  loom->universe = fault::make_universe(loom->loom, loom->netlist);
  app::BeliefEngine engine(loom);
  std::vector<predict::Case> cases;
  const std::vector<infer::Row> rows = engine.rows();
  for (const infer::Row& row : rows) cases.push_back(engine.case_of(row, {}));
  for (std::uint64_t seed = 1; seed <= (example.loom.buses.empty() ? 6U : 2U); ++seed) {
    const std::vector<app::Evidence> evidence = draw_evidence(*loom, example, seed);
    std::vector<evidence::Observable> observables;
    std::vector<infer::Reading> readings;
    for (const app::Evidence& e : evidence) {
      readings.push_back({e.observation.what.kind, e.observation.seen, engine.scale_of(e.observation.what)});
      for (std::size_t i = 0; i < observables.size(); ++i)  // the same test before
        if (observables[i] == e.observation.what) readings.back().before.push_back({readings[i].seen, {}});
      observables.push_back(e.observation.what);
    }
    const evidence::ResponseTable table = engine.campaign().predict(cases, observables);
    infer::LikelihoodTable likelihoods = infer::compute_likelihoods(rows, table, readings, engine.noise());
    (void)infer::join_severities(rows, table, readings, engine.noise(), likelihoods);
    const infer::Posterior whole = infer::compute_posterior(rows, likelihoods);
    const app::Belief& belief = engine.update(evidence, {});
    double singles = 0.0;
    for (const infer::Suspect& s : belief.posterior.suspects)
      if (s.faults.second.is_none()) singles += s.probability;
    for (const infer::Suspect& s : belief.posterior.suspects) {
      if (!s.faults.second.is_none()) continue;
      for (const infer::Suspect& all : whole.suspects) {
        if (!infer::same_hypothesis(all.faults, s.faults)) continue;
        EXPECT_NEAR(s.probability / singles, all.probability, 1e-4 + 1e-3 * all.probability)
            << engine.suspect_name(s) << " seed " << seed;
      }
    }
    double missing = 0.0;  // suspects that are not in the belief at all
    for (const infer::Suspect& all : whole.suspects)
      if (std::none_of(belief.posterior.suspects.begin(), belief.posterior.suspects.end(),
                       [&](const infer::Suspect& s) { return infer::same_hypothesis(all.faults, s.faults); }))
        missing += all.probability;
    EXPECT_LT(missing, 1e-6) << "seed " << seed;
  }
}

INSTANTIATE_TEST_SUITE_P(EveryDemoLoom, NarrowedBelief, ::testing::ValuesIn(test::kExamples, test::kExamples + 3));

}  // namespace
}  // namespace halfsplit
