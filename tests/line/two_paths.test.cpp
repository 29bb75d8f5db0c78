// SPDX-License-Identifier: Apache-2.0
// Every demo loom, every single fault at several severities, every kind of observable: what the suspects' fast path
// predicts is what a fresh factorisation of the faulted circuit shows. This is the check the virtual vehicle relies on.
#include <gtest/gtest.h>

#include <cmath>

#include "base/rng.h"
#include "candidates/generate.h"
#include "predict/campaign.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

using evidence::Observable;
using evidence::Prediction;
using test::ExampleLoom;

// What the slow path shows for the same changes.
Prediction slow_prediction(const ExampleLoom& e, const Observable& what, const std::vector<fault::Change>& changes,
                           const std::vector<fault::FaultId>& faults) {
  const predict::Scene scene{e.loom, e.netlist, e.universe};
  const auto view = [&](const circuit::Configuration& configuration) {
    electrical::Model model = electrical::make_model(e.loom, e.netlist, configuration);
    electrical::apply_changes(model, electrical::remaining_changes(e.netlist, configuration, changes));
    return predict::SlowView(std::move(model), e.loom.system_volts);
  };
  predict::SlowView now = view(what.configuration);
  predict::SlowView work = view(candidates::at_work(e.loom));
  return predict::observe(scene, {now, work}, what, faults);
}

::testing::AssertionResult alike(const Observable& what, const Prediction& fast, const Prediction& slow) {
  if (fast.settled != slow.settled)
    return ::testing::AssertionFailure() << "settled " << fast.settled << "/" << slow.settled;
  if (fast.components.size() != slow.components.size()) return ::testing::AssertionFailure() << "components";
  for (std::size_t i = 0; i < fast.components.size(); ++i) {
    const evidence::Component& f = fast.components[i];
    const evidence::Component& s = slow.components[i];
    if (f.over_range != s.over_range)
      return ::testing::AssertionFailure()
             << "OL " << f.over_range << " " << f.mean << "/" << s.over_range << " " << s.mean;
    if (evidence::is_numeric(what.kind) && std::abs(f.mean - s.mean) > 1e-5 + 1e-6 * std::abs(s.mean))
      return ::testing::AssertionFailure() << f.mean << "/" << s.mean;
  }
  return ::testing::AssertionSuccess();
}

class TwoPaths : public ::testing::TestWithParam<const char*> {};

TEST_P(TwoPaths, PredictTheSame) {
  const ExampleLoom e = test::load_example(".", GetParam());
  predict::Campaign campaign(e.loom, e.netlist, e.universe);
  candidates::Roll roll;
  roll.resistors_ohm = {120, 1000, 4700};
  candidates::GenerateInput input{e.loom,
                                  e.netlist,
                                  e.universe,
                                  roll,
                                  candidates::at_work(e.loom),
                                  std::vector<double>(e.universe.faults.size(), 0.05),
                                  {},
                                  {},
                                  {}};
  input.healthy_volts = [&](const circuit::Configuration& c, circuit::PointId r, circuit::PointId b) {
    return campaign.healthy_volts(c, r, b);
  };
  const std::vector<candidates::Candidate> candidates = candidates::generate(input);
  ASSERT_GT(candidates.size(), 50U);
  base::Rng rng(20261125);
  std::size_t compared = 0;
  for (std::size_t f = 0; f < e.universe.faults.size(); ++f) {
    const fault::Fault& fault = e.universe.faults[f];
    if (fault.kind == fault::FaultKind::kIntermittent) continue;  // a mixture of this and the healthy circuit
    const predict::Case which{{{fault::FaultId(f), fault::has_range(fault) ? rng.uniform() : 0.5}}};
    const std::vector<fault::Change> changes = campaign.changes_of(which);
    for (int n = 0; n < 6; ++n) {
      const Observable& what = candidates[rng.below(candidates.size())].what;
      ASSERT_TRUE(
          alike(what, campaign.predict_one(which, what), slow_prediction(e, what, changes, {fault::FaultId(f)})))
          << fault.name << " kind " << static_cast<int>(what.kind);
      ++compared;
    }
  }
  EXPECT_GT(compared, 400U);
}

INSTANTIATE_TEST_SUITE_P(Examples, TwoPaths, ::testing::ValuesIn(test::kExamples), [](const auto& info) {
  std::string name = info.param;
  std::erase(name, '-');
  return name;
});

// Common practice: 60 ohm across a healthy terminated pair, 120 with one end open, 40 with one terminator too many.
TEST(BusPair, ReadsSixtyOneTwentyForty) {
  const ExampleLoom e = test::load_example(".", "refuse-truck");
  predict::Campaign campaign(e.loom, e.netlist, e.universe);
  Observable what;
  what.kind = evidence::Kind::kOhms;
  what.red = *circuit::find_point(e.netlist, "J7:3@chassis");
  what.black = *circuit::find_point(e.netlist, "J7:4@chassis");
  const auto reading = [&](const char* fault) {
    predict::Case which;
    if (*fault != '\0') which.faults.emplace_back(e.universe.find(fault), 0.5);
    return campaign.predict_one(which, what).components.at(0).mean;
  };
  EXPECT_NEAR(reading(""), 60.0, 1.0);
  EXPECT_NEAR(reading("BC2 terminator missing"), 120.0, 2.0);
  EXPECT_NEAR(reading("VCU terminator doubled"), 40.0, 1.0);
}

// A short to ground behind a fuse melts the fuse in the vehicle at work, and it stays melted with the key off.
TEST(MeltedFuse, StaysOpenWithTheKeyOff) {
  const ExampleLoom e = test::load_example(".", "gritter");
  predict::Campaign campaign(e.loom, e.netlist, e.universe);
  Observable what;
  what.kind = evidence::Kind::kOhms;
  what.red = *circuit::find_point(e.netlist, "F4:1");
  what.black = *circuit::find_point(e.netlist, "F4:2");
  const evidence::Prediction whole = campaign.predict_one({}, what);
  const evidence::Prediction melted = campaign.predict_one({{{e.universe.find("battery.3 to ground"), 0.1}}}, what);
  EXPECT_FALSE(whole.components.at(0).over_range);
  EXPECT_LT(whole.components.at(0).mean, 1.0);
  EXPECT_TRUE(melted.components.at(0).over_range || melted.components.at(0).mean > 10.0);
}

}  // namespace
}  // namespace halfsplit
