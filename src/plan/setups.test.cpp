// SPDX-License-Identifier: Apache-2.0
#include "plan/setups.h"

#include <gtest/gtest.h>

#include "base/rng.h"
#include "plan/hand_problems.h"

namespace halfsplit::plan {
namespace {

using hand::set_of;
using SetupList = std::vector<Setup>;

// 0 cab up, 1 cover off (needs the cab up), 2 key on, 3 isolated (excludes the key).
SetupList vehicle() {
  return {{"cab up", 6.0, 4.0, {}, {}},
          {"cover off", 5.0, 3.0, set_of({0}), {}},
          {"key on", 0.5, 0.25, {}, {}},
          {"isolated", 2.0, 1.0, {}, set_of({2})}};
}

TEST(Setups, MakesWhatIsNeededInTurn) {
  const SetupSet to = lazy_target(vehicle(), {}, {set_of({1}), {}});
  EXPECT_EQ(to, set_of({0, 1}));
  EXPECT_DOUBLE_EQ(move_minutes(vehicle(), {}, to), 11.0);
  EXPECT_EQ(move_steps(vehicle(), {}, to), (std::vector<SetupStep>{{SetupId(0), true, 6.0}, {SetupId(1), true, 5.0}}));
}

TEST(Setups, LeavesWhatIsNotInTheWay) {
  EXPECT_EQ(lazy_target(vehicle(), set_of({0, 1}), {set_of({2}), {}}), set_of({0, 1, 2}));
}

TEST(Setups, UndoesWhatDependsOnTheForbiddenFirst) {
  const SetupSet to = lazy_target(vehicle(), set_of({0, 1}), {set_of({2}), set_of({0})});
  EXPECT_EQ(to, set_of({2}));
  EXPECT_EQ(move_steps(vehicle(), set_of({0, 1}), to),
            (std::vector<SetupStep>{{SetupId(1), false, 3.0}, {SetupId(0), false, 4.0}, {SetupId(2), true, 0.5}}));
}

TEST(Setups, ExclusionWorksBothWays) {
  EXPECT_EQ(lazy_target(vehicle(), set_of({2}), {set_of({3}), {}}), set_of({3}));
  EXPECT_EQ(lazy_target(vehicle(), set_of({3}), {set_of({2}), {}}), set_of({2}));
}

SetupList random_setups(base::Rng& rng, std::size_t count) {
  std::vector<Setup> setups;
  for (std::size_t s = 0; s < count; ++s) {
    Setup setup{"s" + std::to_string(s), rng.uniform(0.0, 9.0), rng.uniform(0.0, 9.0), {}, {}};
    for (std::size_t earlier = 0; earlier < s; ++earlier) {
      if (rng.chance(0.2))
        setup.needs.insert(SetupId(earlier));
      else if (rng.chance(0.2))
        setup.excludes.insert(SetupId(earlier));
    }
    setups.push_back(setup);
  }
  return setups;
}

SetupSet numbered(std::size_t bits) {
  SetupSet set;
  for (std::size_t s = 0; s < 6; ++s) {
    if ((bits >> s & 1U) != 0) set.insert(SetupId(s));
  }
  return set;
}

bool is_legal(const SetupList& setups, const SetupSet& made) {
  return close_over_needs(setups, made) == made && !has_conflict(setups, made);
}

// Against every legal set of six setups: the lazy move is one of the cheapest that meet the conditions.
TEST(Setups, NoOtherLegalSetIsCheaperToReach) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    const SetupList setups = random_setups(rng, 6);
    for (int trial = 0; trial < 20; ++trial) {
      const SetupSet made = numbered(rng.below(64));
      const Conditions conditions{numbered(rng.below(64) & rng.below(64) & rng.below(64)),
                                  numbered(rng.below(64) & rng.below(64))};
      const SetupSet wanted = close_over_needs(setups, conditions.needs);
      if (!is_legal(setups, made) || wanted.meets(conditions.forbids) || has_conflict(setups, wanted)) continue;
      double cheapest = 1e9;
      for (std::size_t bits = 0; bits < 64; ++bits) {
        const SetupSet to = numbered(bits);
        const bool fits = to.contains(conditions.needs) && !to.meets(conditions.forbids) && is_legal(setups, to);
        if (fits) cheapest = std::min(cheapest, move_minutes(setups, made, to));
      }
      const SetupSet lazy = lazy_target(setups, made, conditions);
      EXPECT_TRUE(is_legal(setups, lazy) && lazy.contains(conditions.needs) && !lazy.meets(conditions.forbids));
      EXPECT_NEAR(move_minutes(setups, made, lazy), cheapest, 1e-12);
    }
  }
}

TEST(Setups, StepsAreLegalOneByOne) {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    const SetupList setups = random_setups(rng, 6);
    SetupSet made = numbered(rng.below(64));
    const SetupSet to = numbered(rng.below(64));
    if (!is_legal(setups, made) || !is_legal(setups, to)) continue;
    double minutes = 0.0;
    const double whole = move_minutes(setups, made, to);
    for (const SetupStep& step : move_steps(setups, made, to)) {
      step.make ? made.insert(step.setup) : made.erase(step.setup);
      minutes += step.minutes;
      EXPECT_TRUE(is_legal(setups, made));
    }
    EXPECT_EQ(made, to);
    EXPECT_NEAR(minutes, whole, 1e-12);
  }
}

TEST(SetupMoves, AgreeWithTheSlowForm) {
  const SetupList setups = vehicle();
  const std::vector<Conditions> conditions{{set_of({1}), set_of({2})}, {set_of({2}), set_of({0})}, {}};
  SetupMoves moves(setups, conditions, true);
  const SetNumber start = moves.number_of(set_of({0, 2}));
  EXPECT_DOUBLE_EQ(moves.end_minutes(start), 4.25);
  for (int again = 0; again < 2; ++again) {
    for (std::size_t c = 0; c < conditions.size(); ++c) {
      const SetupMoves::Move move = moves.move(start, static_cast<ConditionNumber>(c));
      EXPECT_EQ(moves.set(move.to), lazy_target(setups, set_of({0, 2}), conditions[c]));
      EXPECT_DOUBLE_EQ(move.minutes, move_minutes(setups, set_of({0, 2}), moves.set(move.to)));
    }
  }
}

TEST(SetupMoves, NothingToUndoWhenTheJobMayEndAsItIs) {
  SetupMoves moves(vehicle(), {Conditions{}}, false);
  EXPECT_DOUBLE_EQ(moves.end_minutes(moves.number_of(set_of({0, 1}))), 0.0);
}

}  // namespace
}  // namespace halfsplit::plan
