// SPDX-License-Identifier: Apache-2.0
#include "can/traffic.h"

#include <gtest/gtest.h>

namespace halfsplit::can {
namespace {

Hearing everybody_hears(std::size_t n) {
  return {n,
          std::vector<char>(n, 1),
          std::vector<char>(n, 1),
          std::vector<char>(n * n, 1),
          std::vector<char>(n * n, 1),
          std::vector<char>(n, 0)};
}

TEST(Traffic, AHealthyBusDeliversEverything) {
  const Traffic traffic = traffic_of(everybody_hears(4));
  for (std::size_t s = 0; s < 4; ++s) {
    EXPECT_EQ(traffic.standing[s], Standing::kWorks);
    EXPECT_EQ(traffic.busy[s], 1.0);
    for (std::size_t r = 0; r < 4; ++r) EXPECT_EQ(traffic.arrives[s * 4 + r], r == s ? 0.0 : 1.0);
  }
}

}  // namespace
}  // namespace halfsplit::can
