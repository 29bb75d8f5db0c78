// SPDX-License-Identifier: Apache-2.0
// Each rule of docs/formats/buses.md, "What becomes of the messages", and what must hold on any bus. That the rules are
// true to the protocol is for tests/bus_twin.
#include "can/traffic.h"

#include <gtest/gtest.h>

#include <initializer_list>
#include <utility>
#include <vector>

#include "base/rng.h"

namespace halfsplit::can {
namespace {

Hearing everybody_hears(std::size_t n) {
  const std::vector<char> each(n, 1);
  const std::vector<char> pairs(n * n, 1);
  return {n, each, each, pairs, pairs, std::vector<char>(n, 0)};
}
void cut(Hearing& bus, std::size_t sender, std::size_t receiver) { bus.dominant[sender * bus.nodes + receiver] = 0; }
void slow(Hearing& bus, std::size_t sender, std::size_t receiver) { bus.returns[sender * bus.nodes + receiver] = 0; }
double arrives(const Traffic& traffic, std::size_t sender, std::size_t receiver) {
  return traffic.arrives[sender * traffic.standing.size() + receiver];
}

// One row per sender: how each node reads it. X follows, n reads dominant but not recessive in time, . nothing.
Hearing drawn(std::initializer_list<const char*> senders) {
  Hearing bus = everybody_hears(senders.size());
  std::size_t s = 0;
  for (const char* row : senders) {
    for (std::size_t r = 0; r < bus.nodes; ++r) {
      if (row[r] == '.') cut(bus, s, r);
      if (row[r] == 'n') slow(bus, s, r);
    }
    ++s;
  }
  return bus;
}

void expect_all(const Traffic& traffic, std::initializer_list<std::size_t> among, double share) {
  for (const std::size_t s : among) {
    for (const std::size_t r : among) EXPECT_EQ(arrives(traffic, s, r), s == r ? 0.0 : share) << s << " to " << r;
  }
}

TEST(Traffic, AHealthyBusDeliversEverything) {
  const Traffic traffic = traffic_of(everybody_hears(4));
  expect_all(traffic, {0, 1, 2, 3}, 1.0);
  for (std::size_t k = 0; k < 4; ++k) {
    EXPECT_EQ(traffic.standing[k], Standing::kWorks);
    EXPECT_EQ(traffic.busy[k], 1.0);
  }
}

TEST(Traffic, WhoTakesNoPartNeitherSendsNorHears) {
  Hearing bus = everybody_hears(4);
  bus.takes_part[2] = 0;
  const Traffic traffic = traffic_of(bus);
  EXPECT_EQ(traffic.standing[2], Standing::kAway);
  EXPECT_EQ(traffic.busy[2], 0.0);
  expect_all(traffic, {0, 1, 3}, 1.0);
  for (const std::size_t k : {0U, 1U, 3U}) EXPECT_EQ(arrives(traffic, 2, k) + arrives(traffic, k, 2), 0.0);
}

TEST(Traffic, WhoReadsDominantAtRestIsHeldDown) {
  Hearing bus = everybody_hears(4);
  bus.rests[0] = 0;
  const Traffic traffic = traffic_of(bus);
  EXPECT_EQ(traffic.standing[0], Standing::kHeldDown);
  EXPECT_EQ(traffic.busy[0], 0.0);
  expect_all(traffic, {1, 2, 3}, 1.0);
  EXPECT_EQ(arrives(traffic, 1, 0), 0.0);
}

TEST(Traffic, WhoDoesNotReadItselfCannotSend) {
  const Traffic traffic = traffic_of(drawn({"XXX", "XXX", "XX."}));
  EXPECT_EQ(traffic.standing[2], Standing::kCannotSend);
  EXPECT_EQ(arrives(traffic, 2, 0), 0.0);
  EXPECT_EQ(arrives(traffic, 0, 2), 0.1);
  expect_all(traffic, {0, 1}, 1.0);
}

TEST(Traffic, OneWhoseOwnBitsLingerSpoilsWhatOthersSend) {
  const Traffic both = traffic_of(drawn({"XXX", "XXX", "XXn"}));
  EXPECT_EQ(both.standing[2], Standing::kCannotSend);
  expect_all(both, {0, 1}, 0.5);
  EXPECT_EQ(arrives(both, 0, 2), 0.0);
  // Of one for whom everything lingers only the first bits count, and these only if its message goes before all others.
  const Traffic hasty = traffic_of(drawn({"XXXn", "XXXn", "XXXn", "XXXn"}));
  expect_all(hasty, {0, 1, 2}, 0.75);
  const Traffic unread = traffic_of(drawn({"XXn", "XXn", "..n"}));
  expect_all(unread, {0, 1}, 1.0);
}

TEST(Traffic, OneThatReadsNobodyJamsAllThatReadIt) {
  const Traffic traffic = traffic_of(drawn({"XXX..", "XXX..", "XXX..", "..nX.", "XXX.X"}));
  EXPECT_EQ(traffic.standing[3], Standing::kJams);  // to be read is enough, to be followed is not needed
  EXPECT_EQ(traffic.standing[4], Standing::kJams);
  EXPECT_EQ(traffic.standing[2], Standing::kJammed);
  EXPECT_LT(traffic.busy[2], 1.0);
  EXPECT_GT(traffic.busy[3], 10.0);
  expect_all(traffic, {0, 1, 2, 3, 4}, 0.0);
}

// To be disturbed by what it reads a node need not send. One that is talked over follows nothing and spoils nothing.
TEST(Traffic, OneThatCannotSendIsJammedAsWell) {
  const Traffic two = traffic_of(drawn({"..", "XX"}));
  EXPECT_EQ(two.standing[1], Standing::kJams);
  EXPECT_EQ(traffic_of(drawn({"..", ".X"})).standing[1], Standing::kAlone);
  for (const char* silent : {"....", "nX.X"}) {
    SCOPED_TRACE(silent);
    Hearing bus = drawn({silent, "XX.X", "n.X.", "XX.X"});
    const Traffic deaf = traffic_of(bus);
    EXPECT_EQ(deaf.standing[2], Standing::kJams);
    EXPECT_EQ(deaf.standing[0], Standing::kCannotSend);
    EXPECT_EQ(deaf.busy[0], 0.4);
    EXPECT_EQ(arrives(deaf, 1, 0), 0.0);
    expect_all(deaf, {1, 3}, 1.0);
    bus.babbles[2] = 1;
    const Traffic babbled = traffic_of(bus);
    EXPECT_EQ(arrives(babbled, 1, 0), 0.0);
    expect_all(babbled, {1, 3}, 1.0);
  }
  Hearing held = drawn({"XX", "XX"});
  held.rests[0] = 0;
  EXPECT_EQ(traffic_of(held).standing[1],
            Standing::kAlone);  // what one that reads dominant throughout hears is no talk
}

TEST(Traffic, ABabblerJamsAllThatReadIt) {
  Hearing bus = drawn({"XXX.", "XXX.", "XXX.", "...X"});
  bus.babbles[0] = 1;
  const Traffic traffic = traffic_of(bus);
  EXPECT_EQ(traffic.standing[0], Standing::kBabbles);
  EXPECT_EQ(traffic.standing[1], Standing::kJammed);
  EXPECT_EQ(traffic.standing[3], Standing::kAlone);
  EXPECT_NEAR(traffic.busy[0], 4 * 3.9, 1e-9);  // of four senders: nearly the whole time
  expect_all(traffic, {0, 1, 2, 3}, 0.0);
}

TEST(Traffic, OneThatNobodyHearsRepeatsForEverAndHurtsNobody) {
  const Traffic traffic = traffic_of(drawn({"XXX", "XXX", "..X"}));
  EXPECT_EQ(traffic.standing[2], Standing::kUnheard);
  EXPECT_EQ(traffic.standing[0], Standing::kWorks);
  expect_all(traffic, {0, 1}, 1.0);
  EXPECT_EQ(arrives(traffic, 0, 2), 0.1);
  EXPECT_GT(traffic.busy[2], 5.0);
}

// It hears no acknowledgement that it could read, but the others read its frames all the same.
TEST(Traffic, OneForWhomAllOthersLingerIsHeardAndHearsNothing) {
  const Traffic traffic = traffic_of(drawn({"XXXn", "XXXn", "XXXn", "XXXX"}));
  EXPECT_EQ(traffic.standing[3], Standing::kUnheard);
  expect_all(traffic, {0, 1, 2}, 1.0);
  EXPECT_EQ(arrives(traffic, 3, 0), 0.8);
  EXPECT_EQ(arrives(traffic, 0, 3), 0.0);
}

TEST(Traffic, HalvesThatHearThemselvesWorkAndOneLeftOverIsAlone) {
  const Traffic halves = traffic_of(drawn({"XX..", "XX..", "..XX", "..XX"}));
  expect_all(halves, {0, 1}, 1.0);
  expect_all(halves, {2, 3}, 1.0);
  EXPECT_EQ(arrives(halves, 0, 2), 0.0);
  for (const Standing standing : halves.standing) EXPECT_EQ(standing, Standing::kWorks);
  const Traffic rest = traffic_of(drawn({"XX.", "XX.", "..X"}));
  EXPECT_EQ(rest.standing[2], Standing::kAlone);
  EXPECT_EQ(rest.standing[0], Standing::kWorks);
  EXPECT_NEAR(rest.busy[2], 3 * 3.3, 1e-9);
}

// 2 misses 0, hears that 1 acknowledges it, and breaks in.
TEST(Traffic, OneThatMissesOneDisturbsAll) {
  const Traffic traffic = traffic_of(drawn({"XX.", "XXX", "XXX"}));
  for (const Standing standing : traffic.standing) EXPECT_EQ(standing, Standing::kDisturbed);
  EXPECT_EQ(arrives(traffic, 0, 2), 0.0);
  EXPECT_NEAR(arrives(traffic, 0, 1), 0.8 * 0.65, 1e-12);  // broken in
  EXPECT_NEAR(arrives(traffic, 1, 0), 0.8, 1e-12);
  EXPECT_NEAR(arrives(traffic, 1, 2), 0.8 * 0.75, 1e-12);  // 0 talks meanwhile, hidden from the reader
  EXPECT_NEAR(arrives(traffic, 2, 0), 0.8 * 0.8, 1e-12);   // no way back
}

TEST(Traffic, TwoThatMissEachOtherTalkOverEachOther) {
  const Traffic traffic = traffic_of(drawn({"XX.", "XXX", ".XX"}));
  EXPECT_NEAR(arrives(traffic, 0, 1), 0.8 * 0.3, 1e-12);
  EXPECT_NEAR(arrives(traffic, 1, 0), 0.8 * 0.75, 1e-12);
}

TEST(Traffic, AnAcknowledgementThatLingersSpoilsTheFrame) {
  const Traffic traffic = traffic_of(drawn({"XXnX", "XXXX", "XXXX", "XXXX"}));
  EXPECT_EQ(arrives(traffic, 1, 2), 0.1);                  // 0 acknowledges it too, and that lingers at 2
  EXPECT_NEAR(arrives(traffic, 2, 1), 0.8 * 0.55, 1e-12);  // and 2 takes it for an error of its own frame
  EXPECT_NEAR(arrives(traffic, 1, 3), 0.8, 1e-12);
}

Hearing random_bus(base::Rng& rng, std::size_t most) {
  Hearing bus = everybody_hears(1 + rng.below(most));
  const double missing = rng.uniform(0.0, 0.4);
  for (std::size_t k = 0; k < bus.nodes * bus.nodes; ++k) {
    bus.dominant[k] = static_cast<char>(!rng.chance(missing));
    bus.returns[k] = static_cast<char>(!rng.chance(missing / 2));
  }
  for (std::size_t k = 0; k < bus.nodes; ++k) {
    bus.takes_part[k] = static_cast<char>(!rng.chance(0.1));
    bus.rests[k] = static_cast<char>(!rng.chance(0.1));
    bus.babbles[k] = static_cast<char>(rng.chance(0.03));
    if (rng.chance(0.7)) bus.dominant[k * bus.nodes + k] = bus.returns[k * bus.nodes + k] = 1;
  }
  return bus;
}

TEST(Traffic, SharesAreSharesAndOnlyWhoFollowsHears) {
  base::Rng rng(21);
  for (int round = 0; round < 2'000; ++round) {
    const Hearing bus = random_bus(rng, 9);
    const Traffic traffic = traffic_of(bus);
    ASSERT_EQ(traffic.arrives.size(), bus.nodes * bus.nodes);
    for (std::size_t s = 0; s < bus.nodes; ++s) {
      ASSERT_GE(traffic.busy[s], 0.0);
      for (std::size_t r = 0; r < bus.nodes; ++r) {
        const double share = arrives(traffic, s, r);
        ASSERT_TRUE(share >= 0.0 && share <= 1.0) << share;
        const std::size_t cell = s * bus.nodes + r;
        const bool there = bus.takes_part[s] != 0 && bus.takes_part[r] != 0 && bus.rests[s] != 0 && bus.rests[r] != 0;
        const bool follows = bus.dominant[cell] != 0 && bus.returns[cell] != 0;
        ASSERT_TRUE(share == 0.0 || (s != r && there && follows));
      }
    }
  }
}

// Who is away might as well not be drawn.
TEST(Traffic, WhoIsAwayChangesNothingForTheOthers) {
  base::Rng rng(22);
  for (int round = 0; round < 500; ++round) {
    Hearing bus = random_bus(rng, 9);
    bus.takes_part[bus.nodes - 1] = 0;
    const Traffic with = traffic_of(bus);
    const std::size_t n = bus.nodes;
    for (std::size_t k = 0; k < n; ++k) {
      bus.dominant[k * n + n - 1] ^= 1;
      bus.returns[(n - 1) * n + k] ^= 1;
    }
    bus.rests[n - 1] ^= 1;
    EXPECT_EQ(traffic_of(bus).arrives, with.arrives);
  }
}

TEST(Traffic, NamesDoNotMatter) {
  base::Rng rng(23);
  for (int round = 0; round < 1'000; ++round) {
    const Hearing bus = random_bus(rng, round % 50 == 0 ? 130 : 12);  // more than two words of 64 now and then
    const std::size_t n = bus.nodes;
    std::vector<std::size_t> to;
    for (std::size_t k = 0; k < n; ++k) to.push_back(k);
    for (std::size_t k = n; k > 1; --k) std::swap(to[k - 1], to[rng.below(k)]);
    Hearing renamed = bus;
    for (std::size_t s = 0; s < n; ++s) {
      renamed.takes_part[to[s]] = bus.takes_part[s];
      renamed.rests[to[s]] = bus.rests[s];
      renamed.babbles[to[s]] = bus.babbles[s];
      for (std::size_t r = 0; r < n; ++r) {
        renamed.dominant[to[s] * n + to[r]] = bus.dominant[s * n + r];
        renamed.returns[to[s] * n + to[r]] = bus.returns[s * n + r];
      }
    }
    const Traffic here = traffic_of(bus);
    const Traffic there = traffic_of(renamed);
    for (std::size_t s = 0; s < n; ++s) {
      ASSERT_EQ(here.standing[s], there.standing[to[s]]);
      ASSERT_EQ(here.busy[s], there.busy[to[s]]);
      for (std::size_t r = 0; r < n; ++r) ASSERT_EQ(arrives(here, s, r), arrives(there, to[s], to[r]));
    }
  }
}

// How long it has the bus is over the ordinary share of each of three, whether the other two are there or not.
TEST(Traffic, OneLeftHasTheBusNearlyToItselfHoweverManyAreAway) {
  constexpr double kAloneOfThree = 3 * 3.3;
  Hearing bus = drawn({"X..", ".X.", "..X"});
  EXPECT_NEAR(traffic_of(bus).busy[0], kAloneOfThree, 1e-9);
  bus.takes_part[1] = 0;
  bus.rests[2] = 0;
  const Traffic traffic = traffic_of(bus);
  EXPECT_EQ(traffic.standing[0], Standing::kAlone);
  EXPECT_NEAR(traffic.busy[0], kAloneOfThree, 1e-9);
}

TEST(Traffic, EveryStandingHasAWord) {
  for (int k = 0; k <= static_cast<int>(Standing::kDisturbed); ++k) {
    EXPECT_NE(standing_word(static_cast<Standing>(k)), "?");
  }
}

TEST(Traffic, NobodyAtAll) { EXPECT_TRUE(traffic_of(Hearing{}).arrives.empty()); }

}  // namespace
}  // namespace halfsplit::can
