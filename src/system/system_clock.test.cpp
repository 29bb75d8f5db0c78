// SPDX-License-Identifier: Apache-2.0
#include "system/system_clock.h"

#include <gtest/gtest.h>

#include <ctime>

namespace halfsplit::system {
namespace {

// Beside it: time(2), seconds since the Epoch (POSIX.1-2017).
TEST(SystemClock, CountsWholeSecondsSince1970) {
  SystemClock clock;
  const std::int64_t before = std::time(nullptr) - 1;  // time(2) may lag by a tick
  const std::int64_t now = clock.now_s();
  EXPECT_GE(now, before);
  EXPECT_LE(now, static_cast<std::int64_t>(std::time(nullptr)) + 1);
}

}  // namespace
}  // namespace halfsplit::system
