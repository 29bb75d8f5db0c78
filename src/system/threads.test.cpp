// SPDX-License-Identifier: Apache-2.0
#include "system/threads.h"

#include <gtest/gtest.h>

#include <atomic>
#include <condition_variable>
#include <mutex>
#include <stdexcept>
#include <string>
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
