// SPDX-License-Identifier: Apache-2.0
// After a repair: is it mended, is another look worth its minute, or is it time to leave? On one straight circuit
// written here, whose lamp was seen dark and bright: something comes and goes.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "app/advice.h"
#include "app/proof.h"
#include "app/rules.h"
#include "evidence/observable_text.h"
#include "tests/rehearsal/job_on.h"

namespace halfsplit::app {
namespace {

constexpr const char* kLoose = R"(loom = 1
name = "straight line, invented"
system_volts = 24
[studs.G1]
[connectors.J1]
sides = ["cab", "frame"]
pins = ["1"]
[connectors.J2]
sides = ["frame", "rear"]
pins = ["1"]
[parts.BAT]
kind = "battery"
[parts.F1]
kind = "fuse"
rating_a = 10
[parts.L1]
kind = "lamp"
watt = 21
[runs]
feed = "BAT:+ -[RD 2.5mm2 1m]-> F1 -[RD 1mm2 2m]-> J1:1 -[RD 1mm2 4m]-> J2:1 -[RD 1mm2 2m]-> L1 -[BN 1mm2 1m]-> G1"
minus = "BAT:- -[BK 10mm2 1m]-> G1"
)";

class AfterRepair : public ::testing::Test, protected test::JobOn {
 protected:
  AfterRepair() {
    begin("it", kLoose);
    for (int i = 0; i < 3; ++i) {
      enter("saw", "look L1", "dark");
      enter("saw", "look L1", "bright");
    }
  }
  void repair_and_look(int looks) {
    enter("did", "repaired remake contact J1:1", "");
    ASSERT_EQ(session.repaired.size(), 1U);
    for (int i = 0; i < looks; ++i) enter("saw", "look L1", "bright");
  }
  double fixed() { return belief().fixed; }
  void skip_all_tests() {
    for (const candidates::Candidate& c : look_ahead(context, session).candidates)
      session.job.skipped.push_back(evidence::format_observable(session.drawing(), session.loom().netlist, c.what));
  }
};

TEST_F(AfterRepair, TheSameLookIsOfferedAgainWhileSomethingComesAndGoes) {
  const Outlook outlook = look_ahead(context, session);
  const auto again = std::find_if(outlook.candidates.begin(), outlook.candidates.end(),
                                  [](const candidates::Candidate& c) { return c.before.has_value(); });
  ASSERT_NE(again, outlook.candidates.end());
  EXPECT_EQ(again->what.kind, evidence::Kind::kLook);
  EXPECT_EQ(again->before->category, 0) << "the newest of both";
}

TEST_F(AfterRepair, WithNothingLooseNothingIsReadTwice) {
  session.job.entries.clear();
  replay(session);
  enter("saw", "volts L1:1 chassis", "0");
  enter("saw", "look L1", "dark");
  enter("saw", "look L1", "dark");
  enter("saw", "look L1", "dark");
  enter("saw", "look L1", "dark");
  enter("saw", "look L1", "dark");
  enter("saw", "look L1", "dark");
  enter("saw", "look L1", "dark");
  for (const candidates::Candidate& c : look_ahead(context, session).candidates) EXPECT_FALSE(c.before.has_value());
}

// A weak lamp: whatever is suspected, the sixth reading says no more than the second, before a repair and across it.
TEST_F(AfterRepair, TheSameReadingOverAndOverChangesNoMind) {
  session.job.entries.clear();
  replay(session);
  const auto by_name_now = [&] {
    const Belief& now = session.engine->update(session.evidence, context.cancel);
    std::map<std::string, double> by_name;
    for (const infer::Suspect& suspect : now.posterior.suspects)
      by_name[session.engine->suspect_name(suspect)] += suspect.probability;
    return by_name;
  };
  const auto expect_same = [&](const std::map<std::string, double>& before) {
    const std::map<std::string, double> after = by_name_now();
    double moved = 0.0;
    for (const auto& [name, probability] : before)
      moved += std::abs(probability - (after.contains(name) ? after.at(name) : 0.0));
    EXPECT_LT(0.5 * moved, 0.015);
  };
  for (int i = 0; i < 2; ++i) enter("saw", "volts L1:1 chassis", "19");
  std::map<std::string, double> before = by_name_now();
  for (int i = 0; i < 5; ++i) enter("saw", "volts L1:1 chassis", "19");
  expect_same(before);
  enter("did", "repaired remake contact J1:1", "");
  for (int i = 0; i < 2; ++i) enter("saw", "volts L1:1 chassis", "19");
  before = by_name_now();
  for (int i = 0; i < 5; ++i) enter("saw", "volts L1:1 chassis", "19");
  expect_same(before);
}

TEST_F(AfterRepair, OneGoodLookDoesNotProveWhatComesAndGoes) {
  repair_and_look(1);
  EXPECT_LT(fixed(), kProvenAbove);
  EXPECT_FALSE(make_proof(context, session).complete);
  EXPECT_FALSE(proof_is_next(context, session));
  const Outlook outlook = look_ahead(context, session, 1e9, Mended::kWeighed);
  const auto mended = std::find_if(outlook.suspects.begin(), outlook.suspects.end(),
                                   [](const candidates::SuspectRows& s) { return s.mended; });
  ASSERT_NE(mended, outlook.suspects.end());
  EXPECT_NEAR(mended->probability, fixed(), 0.02);
  EXPECT_TRUE(std::none_of(outlook.suspects.begin(), outlook.suspects.end(),
                           [](const candidates::SuspectRows& s) { return s.name == "J1:1 comes and goes"; }));
}

TEST_F(AfterRepair, ManyGoodLooksDo) {
  repair_and_look(14);
  EXPECT_GT(fixed(), kProvenAbove);
  EXPECT_TRUE(make_proof(context, session).complete);
  EXPECT_EQ(advise(context, session).kind, Advice::Kind::kProve);
}

TEST_F(AfterRepair, WithNothingLeftToLookAtItIsLeftAndSaysTheChance) {
  repair_and_look(1);
  for (int i = 0; i < 20 && fixed() < 0.85; ++i) enter("saw", "look L1", "bright");
  const double chance = fixed();
  ASSERT_GT(chance, 0.85);
  ASSERT_LT(chance, kProvenAbove);
  skip_all_tests();
  const Advice advice = advise(context, session);
  ASSERT_EQ(advice.kind, Advice::Kind::kLeave);
  EXPECT_NEAR(advice.repair_probability, chance, 0.02);
  EXPECT_NEAR(advice.return_minutes, session.job.kit.road_minutes + 30.0, 1e-9);
  EXPECT_LT(advice.expected_minutes, advice.return_minutes);
}

TEST_F(AfterRepair, WhatIsSafetyCriticalIsNotLeftOnAChance) {
  const auto mentions = [](const Advice& advice, const char* word) {
    return std::any_of(advice.cautions.begin(), advice.cautions.end(),
                       [&](const std::string& caution) { return caution.find(word) != std::string::npos; });
  };
  for (const char* hazard : {"none", "brakes", "steering"}) {
    SCOPED_TRACE(hazard);
    std::string text = kLoose;
    if (std::string(hazard) != "none")
      text.insert(text.find("sides = [\"frame\", \"rear\"]"), std::string("hazard = \"") + hazard + "\"\n");
    begin(hazard, text);
    for (const char* shows : {"dark", "bright", "dark", "bright"}) enter("saw", "look L1", shows);
    repair_and_look(1);
    for (int i = 0; i < 20 && fixed() < 0.85; ++i) enter("saw", "look L1", "bright");
    skip_all_tests();
    const Advice advice = advise(context, session);
    ASSERT_EQ(advice.kind, Advice::Kind::kLeave);
    for (const char* one : {"brakes", "steering"}) EXPECT_EQ(mentions(advice, one), std::string(hazard) == one) << one;
  }
}

TEST_F(AfterRepair, TheRulesMayLeaveAsWell) {
  repair_and_look(7);
  skip_all_tests();
  for (const Chooser& rule : {Chooser(half_split), Chooser(most_bits)})
    EXPECT_EQ(rule(context, session).kind, Advice::Kind::kLeave);
}

}  // namespace
}  // namespace halfsplit::app
