// SPDX-License-Identifier: Apache-2.0
#include "capture/silences.h"

#include <gtest/gtest.h>

#include <set>

#include "capture/made_traffic.h"
#include "capture/study.h"

namespace halfsplit::capture {
namespace {

Findings study_all(const std::vector<can::Frame>& frames) {
  Study study;
  study.take(frames);
  return study.findings();
}

std::set<std::uint16_t> numbers(const Findings& f, const std::vector<std::size_t>& senders) {
  std::set<std::uint16_t> set;
  for (const std::size_t s : senders) set.insert(f.senders[s].key.number);
  return set;
}

std::set<std::uint16_t> quiet_numbers(const Findings& f, const SilentEvent& event) {
  std::vector<std::size_t> senders;
  for (const Silence& silence : event.silences) senders.push_back(silence.sender);
  return numbers(f, senders);
}

const std::uint32_t kEngine = made_id(61444, 0), kBrakes = made_id(61441, 11), kDash = made_id(65265, 23);
const std::uint32_t kSlow = made_id(65262, 33);

MadeTraffic bus_of_four(const std::vector<MadeSilence>& silences, std::uint64_t seed = 4) {
  MadeTraffic made(seed);
  made.cyclic({kEngine, 20'000, 0.03}, 60'000'000, silences);
  made.cyclic({kBrakes, 50'000, 0.03}, 60'000'000, silences);
  made.cyclic({kDash, 100'000, 0.03}, 60'000'000, silences);
  made.cyclic({kSlow, 1'000'000, 0.01}, 60'000'000, silences);
  return made;
}

TEST(Silences, TwoTogetherTwiceAreOnePattern) {
  MadeTraffic made =
      bus_of_four({{{kBrakes, kDash}, 10'000'000, 11'500'000}, {{kBrakes, kDash}, 30'000'000, 33'000'000}});
  const std::vector<can::Frame> frames = made.frames();
  const Findings f = study_all(frames);
  ASSERT_EQ(f.events.size(), 2U);
  EXPECT_EQ(quiet_numbers(f, f.events[0]), (std::set<std::uint16_t>{11, 23}));
  EXPECT_EQ(numbers(f, f.events[0].heard), (std::set<std::uint16_t>{0, 33}));
  EXPECT_TRUE(f.events[0].ended_together);
  EXPECT_FALSE(f.events[0].whole_bus);
  ASSERT_EQ(f.patterns.size(), 1U);
  EXPECT_EQ(f.patterns[0].events.size(), 2U);
  // The lines are those of the sender's own frames on both sides.
  for (const Silence& silence : f.events[1].silences) {
    const can::Frame& before = frames[silence.gap.before.line - 1];
    const can::Frame& after = frames[silence.gap.after.line - 1];
    EXPECT_EQ(can::j1939_source(before.id), f.senders[silence.sender].key.number);
    EXPECT_EQ(before.id, after.id);
    EXPECT_LT(before.time_us - frames[0].time_us, 30'000'000);
    EXPECT_GT(after.time_us - frames[0].time_us, 33'000'000 - 150'000);
  }
}

TEST(Silences, ASlowSenderCannotTell) {
  const Findings f = study_all(bus_of_four({{{kBrakes}, 10'050'000, 10'450'000}}).frames());
  ASSERT_EQ(f.events.size(), 1U);
  const std::set<std::uint16_t> heard = numbers(f, f.events[0].heard);
  EXPECT_TRUE(heard.contains(0));
  // It sends once a second: heard in those 0.4 s or too slow to tell, never quiet with them.
  EXPECT_EQ(heard.contains(33) + numbers(f, f.events[0].too_slow).contains(33), 1);
}

TEST(Silences, NoSilencesNoEvents) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    SCOPED_TRACE(seed);
    EXPECT_TRUE(study_all(bus_of_four({}, seed).frames()).events.empty());
  }
}

TEST(Silences, ToTheEnd) {
  const Findings f = study_all(bus_of_four({{{kEngine, kBrakes}, 50'000'000, 61'000'000}}).frames());
  ASSERT_EQ(f.events.size(), 1U);
  EXPECT_EQ(f.events[0].silences.size(), 2U);
  EXPECT_TRUE(f.events[0].silences[0].to_the_end);
  EXPECT_EQ(f.events[0].silences[0].gap.after.line, f.last.line);
  EXPECT_FALSE(f.events[0].ended_together);
}

TEST(Silences, FromTheBeginningIsALateComer) {
  const Findings f = study_all(bus_of_four({{{kDash}, 0, 20'000'000}}).frames());
  EXPECT_TRUE(f.events.empty());
  ASSERT_EQ(f.late.size(), 1U);
  EXPECT_EQ(f.senders[f.late[0].sender].key.number, 23);
  EXPECT_NEAR(static_cast<double>(f.late[0].first.at_us), 20'000'000, 150'000);
}

TEST(Silences, NobodyAtAll) {
  const Findings f = study_all(bus_of_four({{{kEngine, kBrakes, kDash, kSlow}, 20'000'000, 30'000'000}}).frames());
  ASSERT_EQ(f.events.size(), 1U);
  EXPECT_EQ(f.events[0].silences.size(), 4U);
  EXPECT_TRUE(f.events[0].whole_bus);
}

TEST(Silences, StartedAnewOrNot) {
  MadeTraffic made = bus_of_four({{{kBrakes, kDash}, 10'000'000, 12'000'000}});
  made.add(made_frame(12'100'000, made_id(60928, 11), {1, 0, 0, 0, 0, 0, 0, 0}));
  const Findings f = study_all(made.frames());
  ASSERT_EQ(f.events.size(), 1U);
  EXPECT_TRUE(f.events[0].silences[0].claimed);
  EXPECT_FALSE(f.events[0].silences[1].claimed);
}

TEST(Silences, AClaimThatWasAskedForTellsNothing) {
  MadeTraffic made = bus_of_four({{{kBrakes, kDash}, 10'000'000, 12'000'000}});
  made.add(made_frame(12'090'000, made_id(59904, 0, 255), {0, 0xEE, 0}));
  made.add(made_frame(12'100'000, made_id(60928, 11), {1, 0, 0, 0, 0, 0, 0, 0}));
  EXPECT_FALSE(study_all(made.frames()).events.at(0).silences[0].claimed);
}

TEST(Silences, SupplyBeforeDuringAndAfter) {
  MadeTraffic made = bus_of_four({{{kBrakes}, 10'000'000, 12'500'000}});
  for (int s = 0; s < 60; ++s) {
    const int raw = s == 11 ? 180 : 480 + s;  // 0.05 V each
    made.add(made_frame(s * 1'000'000 + 5, made_id(65271, 0), {255, 255, 255, 255, raw & 255, raw >> 8, 255, 255}));
  }
  const Findings f = study_all(made.frames());
  ASSERT_EQ(f.events.size(), 1U);
  ASSERT_TRUE(f.events[0].volts_before && f.events[0].volts_least && f.events[0].volts_after);
  EXPECT_EQ(f.events[0].volts_before->spn, 168U);
  EXPECT_NEAR(f.events[0].volts_before->volts, (480 + 9) * 0.05, 0.051);
  EXPECT_NEAR(f.events[0].volts_least->volts, 9.0, 1e-9);
  EXPECT_NEAR(f.events[0].volts_after->volts, (480 + 13) * 0.05, 1e-9);
  EXPECT_EQ(f.last_volts.size(), 1U);
}

// Senders with periods and jitter drawn at random, some of them off together for a while: one event, the right group,
// and nobody else in it.
TEST(Silences, TheRightGroupIsFound) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    MadeTraffic made(seed);
    base::Rng& rng = made.rng();
    const std::size_t count = 3 + rng.below(8);
    std::vector<std::uint32_t> ids;
    std::vector<std::int64_t> periods;
    MadeSilence off;
    std::int64_t slowest = 0;
    for (std::size_t s = 0; s < count; ++s) {
      ids.push_back(made_id(65300 + static_cast<std::uint32_t>(s), static_cast<std::uint8_t>(s * 7)));
      periods.push_back(static_cast<std::int64_t>(rng.log_uniform(10'000, 500'000)));
      if (s == 0 || (s + 1 < count && rng.chance(0.4))) {
        off.ids.push_back(ids.back());
        slowest = std::max(slowest, periods.back());
      }
    }
    off.from_us = 8'000'000 + static_cast<std::int64_t>(rng.below(1'000'000));
    off.to_us = off.from_us + 200'000 + 6 * slowest + static_cast<std::int64_t>(rng.below(3'000'000));
    for (std::size_t s = 0; s < count; ++s) made.cyclic({ids[s], periods[s], rng.uniform(0.0, 0.1)}, 25'000'000, {off});
    const Findings f = study_all(made.frames());
    ASSERT_EQ(f.events.size(), 1U);
    std::set<std::uint16_t> expected;
    for (const std::uint32_t id : off.ids) expected.insert(can::j1939_source(id));
    EXPECT_EQ(quiet_numbers(f, f.events[0]), expected);
    for (const std::uint16_t heard : numbers(f, f.events[0].heard)) EXPECT_FALSE(expected.contains(heard));
  }
}

}  // namespace
}  // namespace halfsplit::capture
