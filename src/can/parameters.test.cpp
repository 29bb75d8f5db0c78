// SPDX-License-Identifier: Apache-2.0
// The table is held against published ones, and readings against recorded frames, in tests/frames.
#include "can/parameters.h"

#include <gtest/gtest.h>

#include <vector>

#include "can/j1939_groups.h"

namespace halfsplit::can {
namespace {

using Bytes = std::vector<std::uint8_t>;

ParameterReading read_spn(std::uint32_t spn, const Bytes& bytes) { return read_parameter(*find_parameter(spn), bytes); }

TEST(Parameters, StandInOrderAndAreFound) {
  std::uint32_t before = 0;
  for (const Parameter& parameter : parameters()) {
    EXPECT_LE(before, parameter.pgn);
    before = parameter.pgn;
    EXPECT_EQ(find_parameter(parameter.spn), &parameter);
    EXPECT_NE(find_j1939_group(parameter.pgn), nullptr) << parameter.pgn;
    EXPECT_LE(parameter.start_bit - 1 + parameter.length_bits, parameter.length_bits < 8 ? 8 : 32) << parameter.spn;
  }
  EXPECT_EQ(parameters_of(0xFEF7).size(), 5U);
  EXPECT_EQ(parameters_of(0xFEF7).front().spn, 114U);
  EXPECT_TRUE(parameters_of(0xFEF0).empty());
  EXPECT_EQ(find_parameter(999'999), nullptr);
}

TEST(Parameters, TwoBytesLowestFirst) {
  const Bytes speed = {0, 0, 0, 0x48, 0x14, 0, 0, 0};
  EXPECT_EQ(read_spn(kSpnEngineSpeed, speed).value, 0x1448 * 0.125);
  EXPECT_EQ(read_spn(kSpnEngineSpeed, speed).raw, 0x1448U);
  EXPECT_EQ(read_spn(110, Bytes{0}).value, -40.0);
  EXPECT_EQ(read_spn(524, Bytes{124}).value, -1.0);
}

TEST(Parameters, RangesOfWholeBytes) {
  const auto of_byte = [](std::uint8_t byte) { return read_spn(110, Bytes{byte}).reading; };
  EXPECT_EQ(of_byte(0xFA), Reading::kValue);
  for (const int reserved : {0xFB, 0xFC, 0xFD})
    EXPECT_EQ(of_byte(static_cast<std::uint8_t>(reserved)), Reading::kReserved);
  EXPECT_EQ(of_byte(0xFE), Reading::kError);
  EXPECT_EQ(of_byte(0xFF), Reading::kNotAvailable);
  const auto of_word = [](std::uint8_t low, std::uint8_t high) {
    return read_spn(kSpnBatteryVoltage, Bytes{0, 0, 0, 0, low, high}).reading;
  };
  EXPECT_EQ(of_word(0xFF, 0xFA), Reading::kValue);
  EXPECT_EQ(of_word(0x00, 0xFB), Reading::kReserved);
  EXPECT_EQ(of_word(0x00, 0xFE), Reading::kError);
  EXPECT_EQ(of_word(0x00, 0xFF), Reading::kNotAvailable);
  EXPECT_EQ(read_spn(245, Bytes{0, 0, 0, 0, 0xFF, 0xFF, 0xFF, 0xFA}).reading, Reading::kValue);
  EXPECT_EQ(read_spn(245, Bytes{0, 0, 0, 0, 0, 0, 0, 0xFE}).reading, Reading::kError);
  EXPECT_EQ(read_spn(245, Bytes{0, 0, 0, 0, 0, 0, 0, 0xFF}).reading, Reading::kNotAvailable);
}

TEST(Parameters, RangesOfStates) {
  const auto parking_brake = [](std::uint8_t byte) { return read_spn(70, Bytes{byte}); };  // bits 3 and 4
  EXPECT_EQ(parking_brake(0b1111'0011).value, 0.0);
  EXPECT_EQ(parking_brake(0b0000'0100).value, 1.0);
  EXPECT_EQ(parking_brake(0b0000'1000).reading, Reading::kError);
  EXPECT_EQ(parking_brake(0b0000'1100).reading, Reading::kNotAvailable);
}

TEST(Parameters, WhatIsNotInTheMessageIsSaid) {
  EXPECT_EQ(read_spn(kSpnBatteryVoltage, Bytes{1, 2, 3, 4, 5}).reading, Reading::kCutShort);
  EXPECT_EQ(read_spn(kSpnBatteryVoltage, Bytes{}).reading, Reading::kCutShort);
  for (int reading = 0; reading < 5; ++reading) EXPECT_FALSE(reading_word(static_cast<Reading>(reading)).empty());
}

}  // namespace
}  // namespace halfsplit::can
