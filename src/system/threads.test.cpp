// SPDX-License-Identifier: Apache-2.0
#include "system/threads.h"

#include <gtest/gtest.h>

#include <atomic>
#include <condition_variable>
#include <mutex>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace halfsplit::system {
namespace {

TEST(Threads, EveryPartIsDoneOnceByAnyNumberOfHands) {
  for (const std::size_t hands : {1U, 2U, 5U}) {
    Threads threads(hands);
    EXPECT_EQ(threads.hands(), hands);
    for (const std::size_t count : {0U, 1U, 2U, 100U, 7U}) {
      std::vector<std::atomic<int>> times(count);
      threads.run(count, [&](std::size_t part) { ++times[part]; });
      for (const auto& time : times) EXPECT_EQ(time, 1);
    }
  }
}

// Two parts that wait for each other end only when they are worked at once.
TEST(Threads, PartsAreWorkedSideBySide) {
  Threads threads(2);
  std::mutex mutex;
  std::condition_variable met;
  int here = 0;
  threads.run(2, [&](std::size_t) {
    std::unique_lock lock(mutex);
    ++here;
    met.notify_all();
    met.wait(lock, [&] { return here == 2; });
  });
  EXPECT_EQ(here, 2);
}

// --- relay -----------------------------------------------------------------------------------------------------------

// Pieces 0 to `count` - 1, each worked to its square; what is handed on, and how many calls overlapped that must not.
struct Squares {
  explicit Squares(std::size_t how_many, std::size_t places) : count(how_many), piece(places), square(places) {
    relay.places = places;
    relay.fetch = [this](std::size_t place) {
      const Alone alone(fetching, overlaps);
      if (next == count) return false;
      piece[place] = next++;
      return true;
    };
    relay.work = [this](std::size_t place) { square[place] = piece[place] * piece[place]; };
    relay.hand_on = [this](std::size_t place) {
      const Alone alone(handing, overlaps);
      handed.push_back(square[place]);
      return handed.size() < wanted;
    };
  }
  struct Alone {
    Alone(std::atomic<int>& here, std::atomic<int>& overlaps) : here_(here) { overlaps += here_++ == 0 ? 0 : 1; }
    ~Alone() { --here_; }
    std::atomic<int>& here_;
  };
  std::size_t count, next = 0, wanted = std::string::npos;
  std::vector<std::size_t> piece, square, handed;
  std::atomic<int> fetching = 0, handing = 0, overlaps = 0;
  base::Relay relay;
};

TEST(Threads, ARelayHandsOnEveryPieceInOrder) {
  for (const std::size_t hands : {1U, 2U, 5U}) {
    Threads threads(hands);
    for (const std::size_t places : {1U, 2U, 8U})
      for (const std::size_t count : {0U, 1U, 3U, 2000U}) {
        Squares squares(count, places);
        threads.relay(squares.relay);
        ASSERT_EQ(squares.handed.size(), count);
        for (std::size_t i = 0; i < count; ++i) ASSERT_EQ(squares.handed[i], i * i);
        EXPECT_EQ(squares.overlaps, 0);
      }
  }
}

TEST(Threads, ARelayEndsWhenNoMoreIsWanted) {
  for (const std::size_t hands : {1U, 2U, 5U}) {
    Threads threads(hands);
    Squares squares(1'000'000, 8);
    squares.wanted = 100;
    threads.relay(squares.relay);
    EXPECT_EQ(squares.handed.size(), 100U);
    EXPECT_LE(squares.next, 100U + 8U);
  }
}

// Two pieces that wait for each other are worked only when they are worked at once.
TEST(Threads, PiecesOfARelayAreWorkedSideBySide) {
  Threads threads(2);
  Squares squares(2, 8);
  std::mutex mutex;
  std::condition_variable met;
  int here = 0;
  squares.relay.work = [&](std::size_t) {
    std::unique_lock lock(mutex);
    ++here;
    met.notify_all();
    met.wait(lock, [&] { return here == 2; });
  };
  threads.relay(squares.relay);
  EXPECT_EQ(here, 2);
}

// What it worked there before is near its core. Each two pieces are worked by two hands; a place counts as free when
// the piece behind the one that lay there is being handed on.
TEST(Threads, WhoFetchesTakesAPlaceThatItWorkedBefore) {
  constexpr std::size_t kPieces = 400, kPlaces = 8;
  Threads threads(2);
  Squares squares(kPieces, kPlaces);
  std::mutex mutex;
  std::condition_variable met;
  std::size_t here = 0, own = 0, others = 0, freed = kPlaces;
  std::vector<std::thread::id> worker(kPlaces);
  std::vector<bool> free(kPlaces, true);
  base::Relay relay = squares.relay;
  relay.fetch = [&](std::size_t place) {
    const std::lock_guard lock(mutex);
    const std::thread::id self = std::this_thread::get_id();
    bool had_own = false;
    for (std::size_t p = 0; p < kPlaces; ++p) had_own = had_own || (free[p] && worker[p] == self);
    if (had_own) ++(worker[place] == self ? own : others);
    free[place] = false;
    return squares.relay.fetch(place);
  };
  relay.work = [&](std::size_t place) {
    squares.relay.work(place);
    std::unique_lock lock(mutex);
    worker[place] = std::this_thread::get_id();
    const std::size_t pair = here++ / 2;
    met.notify_all();
    met.wait(lock, [&] { return here >= 2 * (pair + 1); });
  };
  relay.hand_on = [&](std::size_t place) {
    const std::lock_guard lock(mutex);
    if (freed < kPlaces) free[freed] = true;
    freed = place;
    return squares.relay.hand_on(place);
  };
  threads.relay(relay);
  EXPECT_EQ(squares.handed.size(), kPieces);
  EXPECT_EQ(others, 0U);
  EXPECT_GT(own, 0U);
}

TEST(Threads, WhatARelayThrowsComesOut) {
  for (const std::size_t hands : {1U, 3U}) {
    Threads threads(hands);
    for (const char* where : {"fetch", "work", "hand_on"}) {
      Squares squares(1000, 8);
      const auto failing = [&, where](const char* name) {
        if (std::string(name) == where && squares.next > 50) throw std::runtime_error(where);
      };
      base::Relay relay = squares.relay;
      relay.fetch = [&](std::size_t place) { return failing("fetch"), squares.relay.fetch(place); };
      relay.work = [&](std::size_t place) { failing("work"), squares.relay.work(place); };
      relay.hand_on = [&](std::size_t place) { return failing("hand_on"), squares.relay.hand_on(place); };
      EXPECT_THROW(threads.relay(relay), std::runtime_error) << where;
      EXPECT_LT(squares.handed.size(), 1000U);
    }
    Squares after(10, 8);  // and they still work
    threads.relay(after.relay);
    EXPECT_EQ(after.handed.size(), 10U);
  }
}

TEST(Threads, WhatTheFirstFailingPartThrowsComesOut) {
  for (const std::size_t hands : {1U, 3U}) {
    Threads threads(hands);
    std::string said;
    try {
      threads.run(20, [](std::size_t part) {
        if (part == 3 || part == 17) throw std::runtime_error(std::to_string(part));
      });
    } catch (const std::runtime_error& error) {
      said = error.what();
    }
    EXPECT_EQ(said, "3");
    std::atomic<int> done = 0;
    threads.run(4, [&](std::size_t) { ++done; });  // and they still work
    EXPECT_EQ(done, 4);
  }
}

}  // namespace
}  // namespace halfsplit::system
