// SPDX-License-Identifier: Apache-2.0
// Claims of recorded networks are held against this in tests/frames.
#include "can/j1939_name.h"

#include <gtest/gtest.h>

#include <vector>

#include "base/rng.h"

namespace halfsplit::can {
namespace {

TEST(J1939Name, EveryFieldHasItsBits) {
  const J1939Name ones = split_j1939_name(0xFFFFFFFFFFFFFFFF);
  EXPECT_EQ(ones.identity_number, 0x1FFFFFU);
  EXPECT_EQ(ones.manufacturer_code, 0x7FF);
  EXPECT_EQ(ones.ecu_instance, 7);
  EXPECT_EQ(ones.function_instance, 31);
  EXPECT_EQ(ones.function, 255);
  EXPECT_TRUE(ones.reserved);
  EXPECT_EQ(ones.vehicle_system, 127);
  EXPECT_EQ(ones.vehicle_system_instance, 15);
  EXPECT_EQ(ones.industry_group, 7);
  EXPECT_TRUE(ones.arbitrary_address_capable);
}

TEST(J1939Name, SplitAndJoinedAreOne) {
  base::Rng rng(81);
  for (int round = 0; round < 20'000; ++round) {
    const std::uint64_t value = static_cast<std::uint64_t>(rng.below(1ULL << 32)) << 32 | rng.below(1ULL << 32);
    ASSERT_EQ(join_j1939_name(split_j1939_name(value)), value);
    const auto bytes = write_j1939_name(value);
    ASSERT_EQ(read_j1939_name(bytes), value);
  }
  EXPECT_EQ(join_j1939_name(J1939Name{}), 0U);
  J1939Name name;
  name.function = 3;
  EXPECT_EQ(join_j1939_name(name), 3ULL << 40);
}

TEST(J1939Name, TheFirstByteIsTheLowest) {
  const std::vector<std::uint8_t> bytes = {1, 0, 0, 0, 0, 0, 0, 0x80, 99};
  const J1939Name name = split_j1939_name(read_j1939_name(bytes).value());
  EXPECT_EQ(name.identity_number, 1U);
  EXPECT_TRUE(name.arbitrary_address_capable);
  EXPECT_EQ(read_j1939_name(std::span(bytes).first(7)), std::nullopt);
}

TEST(J1939Name, WordsOfCommonNumbers) {
  J1939Name name;
  EXPECT_EQ(name_function_word(name), "engine");
  name.function = 3;
  EXPECT_EQ(name_function_word(name), "gearbox");
  name.function = 26;
  EXPECT_EQ(name_function_word(name), "body controller");
  name.function = 62;
  EXPECT_EQ(name_function_word(name), "on-board diagnostic unit");
  name.function = 90;
  EXPECT_NE(name_function_word(name), "");
  name.function = 91;
  EXPECT_EQ(name_function_word(name), "");
  name.function = 128;
  EXPECT_EQ(name_function_word(name), "");
  name.industry_group = 1;
  EXPECT_EQ(name_function_word(name), "tachograph");
  name.vehicle_system = 1;
  EXPECT_EQ(name_function_word(name), "");
  EXPECT_EQ(industry_group_word(1), "road vehicles");
  EXPECT_EQ(industry_group_word(6), "");
  EXPECT_EQ(source_address_word(0), "engine 1");
  EXPECT_EQ(source_address_word(0x0B), "brakes, system controller");
  EXPECT_EQ(source_address_word(0x2C), "");
  EXPECT_EQ(source_address_word(0x80), "");
}

}  // namespace
}  // namespace halfsplit::can
