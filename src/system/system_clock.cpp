// SPDX-License-Identifier: Apache-2.0
#include "system/system_clock.h"

#include <chrono>

namespace halfsplit::system {

// system_clock counts from 1970-01-01 UTC without leap seconds (C++20, [time.clock.system.overview]).
std::int64_t SystemClock::now_s() {
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  return std::chrono::floor<std::chrono::seconds>(since).count();
}

}  // namespace halfsplit::system
