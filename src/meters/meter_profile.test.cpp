// SPDX-License-Identifier: Apache-2.0
// Ranges and accuracy of the common handheld (common practice), and the choice among ranges of any meter.
#include "meters/meter_profile.h"

#include <gtest/gtest.h>

namespace halfsplit::meters {
namespace {

TEST(Accuracy, IsPercentAndCountsOfTheRange) {
  EXPECT_DOUBLE_EQ(meter_sigma(default_meter(), Instrument::kVolts, 25.0) * 3.0, 0.005 * 25.0 + 2 * 0.01);
  EXPECT_DOUBLE_EQ(meter_sigma(default_meter(), Instrument::kVolts, -25.0),
                   meter_sigma(default_meter(), Instrument::kVolts, 25.0));
  EXPECT_DOUBLE_EQ(meter_sigma(default_meter(), Instrument::kOhms, 60.0) * 3.0, 0.009 * 60.0 + 3 * 0.1);
  EXPECT_DOUBLE_EQ(meter_sigma(default_meter(), Instrument::kOhms, 4700.0) * 3.0, 0.009 * 4700.0 + 3 * 1.0);
  EXPECT_DOUBLE_EQ(meter_sigma(default_meter(), Instrument::kClamp, 10.0) * 3.0, 0.02 * 10.0 + 5 * 0.01);
  EXPECT_EQ(meter_sigma(default_meter(), Instrument::kTestLamp, 24.0), 0.0);
}

TEST(Display, RoundsToTheDigitOfItsRange) {
  EXPECT_NEAR(displayed(default_meter(), Instrument::kVolts, 24.1234), 24.12, 1.0e-12);
  EXPECT_NEAR(displayed(default_meter(), Instrument::kVolts, 4.12345), 4.123, 1.0e-12);
  EXPECT_NEAR(displayed(default_meter(), Instrument::kVolts, 0.123456), 0.1235, 1.0e-12);
  EXPECT_NEAR(displayed(default_meter(), Instrument::kOhms, 59.88), 59.9, 1.0e-12);
  EXPECT_NEAR(displayed(default_meter(), Instrument::kOhms, 4712.3), 4712.0, 1.0e-9);
  EXPECT_NEAR(displayed(default_meter(), Instrument::kClamp, 1.2345), 1.23, 1.0e-12);
}

// From the tables of the first release: what a reading is worth must not change under those who give no profile.
TEST(DefaultMeter, IsTheOneOfTheFirstRelease) {
  EXPECT_EQ(default_meter().input_ohm, 1.0e7);
  for (const auto& [reading, digit] :
       {std::pair{0.59, 0.0001}, {0.61, 0.001}, {5.9, 0.001}, {6.1, 0.01}, {59.0, 0.01}, {61.0, 0.1}, {2000.0, 0.1}})
    EXPECT_EQ(range_of(default_meter(), Instrument::kVolts, reading).digit, digit) << reading;
  for (const auto& [reading, percent, digit] : {std::tuple{600.0, 0.9, 0.1},
                                                {601.0, 0.9, 1.0},
                                                {5.9e6, 0.9, 1.0e3},
                                                {6.1e6, 2.0, 1.0e4},
                                                {5.9e7, 2.0, 1.0e4}}) {
    EXPECT_EQ(range_of(default_meter(), Instrument::kOhms, reading).digit, digit) << reading;
    EXPECT_EQ(range_of(default_meter(), Instrument::kOhms, reading).percent, percent) << reading;
  }
}

TEST(TestCurrent, GivesFullScaleVoltsAtTheTopOfTheRange) {
  for (const MeterRange& range : default_meter().ohms)
    EXPECT_DOUBLE_EQ(test_current(default_meter(), range) * range.up_to, 0.6);
}

TEST(Range, GoesByTheSizeOfAReadingAndEndsWithTheLast) {
  MeterProfile meter;
  meter.volts = {{2.0, 1.0, 1.0, 0.001}, {20.0, 2.0, 2.0, 0.01}};
  EXPECT_EQ(range_of(meter, Instrument::kVolts, -2.0), meter.volts[0]);
  EXPECT_EQ(range_of(meter, Instrument::kVolts, -2.1), meter.volts[1]);
  EXPECT_EQ(range_of(meter, Instrument::kVolts, 300.0), meter.volts[1]);
}

}  // namespace
}  // namespace halfsplit::meters
