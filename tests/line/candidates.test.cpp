// SPDX-License-Identifier: Apache-2.0
// Acts, tests offered and refused, outcomes: on the demo looms.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "candidates/problem.h"
#include "evidence/observable_text.h"
#include "predict/campaign.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

using candidates::Act;
using candidates::Candidate;
using evidence::Kind;
using evidence::Observable;

class Candidates : public ::testing::Test {
 protected:
  explicit Candidates(const char* name = "gritter")
      : e_(test::load_example(".", name)), campaign_(e_.loom, e_.netlist, e_.universe) {
    roll_.resistors_ohm = {120.0, 1000.0, 4700.0};
  }

  candidates::GenerateInput input() {
    candidates::GenerateInput in{e_.loom,
                                 e_.netlist,
                                 e_.universe,
                                 roll_,
                                 candidates::at_work(e_.loom),
                                 std::vector<double>(e_.universe.faults.size(), 0.05),
                                 {},
                                 {},
                                 {}};
    in.healthy_volts = [this](const circuit::Configuration& c, circuit::PointId r, circuit::PointId b) {
      return campaign_.healthy_volts(c, r, b);
    };
    return in;
  }

  Observable test_of(const std::string& words) {
    base::Result<Observable> what = evidence::parse_observable(e_.loom, e_.netlist, words);
    Observable placed = std::move(what).value();
    placed.configuration = candidates::at_work(e_.loom);
    return placed;
  }

  test::ExampleLoom e_;
  predict::Campaign campaign_;
  candidates::Roll roll_;
};

TEST_F(Candidates, OhmsAreOnlyOfferedWhereTheSupplyIsOff) {
  const candidates::GenerateInput in = input();
  std::size_t ohms = 0;
  for (const Candidate& c : candidates::generate(in)) {
    if (c.what.kind != Kind::kOhms) continue;
    ++ohms;
    EXPECT_LE(std::abs(campaign_.healthy_volts(c.what.configuration, c.what.red, c.what.black)), 0.05);
  }
  EXPECT_GT(ohms, 10U);
}

TEST_F(Candidates, ATestLampIsNeverPutOnAModulesPin) {
  const candidates::GenerateInput in = input();
  EXPECT_FALSE(candidates::refusal(in, test_of("lamp HCU.A:7 chassis")).empty());
  EXPECT_TRUE(candidates::refusal(in, test_of("lamp HCU.A:1 chassis")).empty());
  for (const Candidate& c : candidates::generate(in))
    EXPECT_FALSE(c.what.kind == Kind::kTestLamp && e_.netlist.points[c.what.red.index()].module_pin);
}

// What may come and go inside a part or a module is warmed and cooled, if there is something along to do it with. Not
// what senses temperature: that answers in order as well.
TEST_F(Candidates, HeatAndColdForWhatMayComeAndGoInside) {
  roll_.cold_spray = true;
  const auto offered = [&](const std::string& words) {
    const candidates::GenerateInput in = input();
    const std::vector<Candidate> all = candidates::generate(in);
    return std::any_of(all.begin(), all.end(), [&](const Candidate& c) {
      return evidence::format_observable(e_.loom, e_.netlist, c.what) == words;
    });
  };
  EXPECT_TRUE(offered("heat HCU"));
  EXPECT_TRUE(offered("cool HCU"));
  EXPECT_TRUE(offered("heat S1"));
  EXPECT_FALSE(offered("heat B12"));
  EXPECT_FALSE(offered("heat F4")) << "nothing in a fuse comes and goes";
  EXPECT_TRUE(offered("wiggle oil-temp.2"));
  roll_.heat_gun = false;
  EXPECT_FALSE(offered("heat HCU"));
  EXPECT_TRUE(offered("cool HCU"));
  e_.loom.modules[0].hazard = circuit::Hazard::kAirbag;
  EXPECT_FALSE(offered("cool HCU"));
  EXPECT_FALSE(candidates::refusal(input(), test_of("heat HCU")).empty());
  e_.loom.modules[0].hazard = circuit::Hazard::kDangerousGoods;
  EXPECT_FALSE(candidates::refusal(input(), test_of("heat HCU")).empty());
  EXPECT_TRUE(candidates::refusal(input(), test_of("cool HCU")).empty());
}

TEST_F(Candidates, AnAirbagCircuitNeverSeesAnOhmmeterNorALead) {
  for (circuit::Point& point : e_.netlist.points)
    if (point.name.starts_with("J5:")) point.hazard = circuit::Hazard::kAirbag;
  const candidates::GenerateInput in = input();
  for (const Candidate& c : candidates::generate(in)) {
    const auto airbag = [&](circuit::PointId p) {
      return !p.is_none() && e_.netlist.points[p.index()].hazard == circuit::Hazard::kAirbag;
    };
    const bool drives = c.what.kind == Kind::kOhms || c.what.kind == Kind::kTestLamp;
    EXPECT_FALSE(drives && (airbag(c.what.red) || airbag(c.what.black)));
    for (const circuit::Fitted& f : c.what.configuration.fitted) EXPECT_FALSE(airbag(f.a) || airbag(f.b));
  }
}

TEST_F(Candidates, BrakeCircuitsAreNotBypassed) {
  for (circuit::Point& point : e_.netlist.points)
    if (point.name.starts_with("J5:")) point.hazard = circuit::Hazard::kBrakes;
  const candidates::GenerateInput in = input();
  for (const Candidate& c : candidates::generate(in))
    for (const circuit::Fitted& f : c.what.configuration.fitted)
      EXPECT_FALSE(f.kind == circuit::Fitted::Kind::kLead && c.what.configuration.unplugged.empty() &&
                   (e_.netlist.points[f.a.index()].hazard == circuit::Hazard::kBrakes ||
                    e_.netlist.points[f.b.index()].hazard == circuit::Hazard::kBrakes));
}

TEST_F(Candidates, WhatCannotBeReachedWithoutASetupNeedsIt) {
  const Candidate hinge = candidates::make_candidate(e_.loom, e_.netlist, test_of("volts J5:2@body J5:3@body"));
  const Candidate bulkhead = candidates::make_candidate(e_.loom, e_.netlist, test_of("volts J2:5@cab J2:6@cab"));
  const auto raises = [&](const Candidate& c) {
    return std::any_of(c.needs.begin(), c.needs.end(), [&](const Act& a) {
      return a.kind == Act::Kind::kSetup && e_.loom.setups[a.setup.index()].name == "body-raised";
    });
  };
  EXPECT_TRUE(raises(hinge));
  EXPECT_FALSE(raises(bulkhead));
  const candidates::GenerateInput in = input();
  EXPECT_GT(candidates::rough_minutes(in, hinge), candidates::rough_minutes(in, bulkhead) + 6.0);
}

TEST_F(Candidates, TheStandInIsTheNearestOfTheTechniciansRoll) {
  candidates::GenerateInput in = input();
  Observable live = test_of("live oil-temperature");
  live.configuration = {};
  in.symptoms = {live};
  bool offered = false;
  for (const Candidate& c : candidates::generate(in))
    for (const circuit::Fitted& f : c.what.configuration.fitted)
      if (f.kind == circuit::Fitted::Kind::kStandIn) {
        offered = true;
        EXPECT_EQ(f.ohm, 4700.0);  // the sensor has about 5 kohm at 8 degC
        EXPECT_FALSE(c.what.configuration.unplugged.empty());
      }
  EXPECT_TRUE(offered);
}

TEST_F(Candidates, OutcomesOfATestAddUpToOneUnderEverySuspect) {
  const candidates::GenerateInput in = input();
  const std::vector<Candidate> all = candidates::generate(in);
  std::vector<candidates::SuspectRows> suspects;
  std::vector<predict::Case> cases;
  for (const char* name : {"B12 open", "J5:2 high", "J2:5 comes and goes"}) {
    candidates::SuspectRows s;
    s.name = name;
    s.probability = 0.3;
    s.repairs = {e_.universe.faults[e_.universe.find(name).index()].repair};
    s.rows = {{cases.size(), 1.0}};
    suspects.push_back(s);
    cases.push_back({{{e_.universe.find(name), 0.5}}});
  }
  candidates::SuspectRows beyond;
  beyond.name = "not on this drawing";
  beyond.probability = 0.1;
  suspects.push_back(beyond);
  cases.emplace_back();
  infer::Noise noise;
  for (std::size_t i = 0; i < all.size(); i += 7) {
    const evidence::ResponseTable table = campaign_.predict(cases, {all[i].what});
    const candidates::Test t = candidates::make_test(e_.loom, all[i], i, table, 0, suspects, cases.size() - 1, noise);
    for (std::size_t s = 0; s < suspects.size(); ++s) {
      double sum = 0.0;
      for (std::size_t o = 0; o < t.outcomes.size(); ++o) sum += t.chance[s * t.outcomes.size() + o];
      EXPECT_NEAR(sum, 1.0, 1e-9);
    }
    EXPECT_GE(t.bits, -1e-9);
  }
}

TEST_F(Candidates, DoingAndUndoingAnActLeavesTheStateAsItWas) {
  circuit::Configuration state = candidates::at_work(e_.loom);
  const circuit::Configuration before = state;
  for (const Act& act : candidates::loom_acts(e_.loom)) {
    if (candidates::is_done(state, act)) continue;
    candidates::apply(state, act, true);
    EXPECT_TRUE(candidates::is_done(state, act));
    candidates::apply(state, act, false);
    EXPECT_EQ(state, before);
  }
}

// What a typed test says is read back as the same test.
TEST_F(Candidates, WordsOfATestReadBackAsTheSameTest) {
  const candidates::GenerateInput in = input();
  for (const Candidate& c : candidates::generate(in)) {
    const std::string words = evidence::format_observable(e_.loom, e_.netlist, c.what);
    base::Result<Observable> again = evidence::parse_observable(e_.loom, e_.netlist, words);
    ASSERT_TRUE(again.ok()) << words;
    again->configuration = c.what.configuration;
    EXPECT_EQ(*again, c.what) << words;
  }
}

}  // namespace
}  // namespace halfsplit
