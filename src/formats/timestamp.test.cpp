// SPDX-License-Identifier: Apache-2.0
#include "formats/timestamp.h"

#include <gtest/gtest.h>

#include <chrono>
#include <cstdio>

#include "base/rng.h"

namespace halfsplit::formats {
namespace {

// Beside it: the calendar of the standard library, every day from 1970 to 2400 and the last year.
TEST(Timestamp, EveryDayAgreesWithTheCalendarOfTheLibrary) {
  using namespace std::chrono;
  const auto check = [](sys_days day) {
    const year_month_day civil{day};
    const std::string text = format_timestamp(seconds(day.time_since_epoch()).count() + 86'399);
    char wanted[40];
    std::snprintf(wanted, sizeof wanted, "%04d-%02u-%02uT23:59:59Z", static_cast<int>(civil.year()),
                  static_cast<unsigned>(civil.month()), static_cast<unsigned>(civil.day()));
    ASSERT_EQ(text, wanted);
    ASSERT_EQ(parse_timestamp(text), seconds(day.time_since_epoch()).count() + 86'399);
  };
  for (sys_days day{year{1970} / 1 / 1}; day < sys_days{year{2401} / 1 / 1}; day += days{1}) check(day);
  for (sys_days day{year{9999} / 1 / 1}; day < sys_days{year{10000} / 1 / 1}; day += days{1}) check(day);
}

// Beside it: POSIX.1-2017, 4.16, "Seconds Since the Epoch"; `date -u -d @1714979289`.
TEST(Timestamp, KnownMoments) {
  EXPECT_EQ(format_timestamp(0), "1970-01-01T00:00:00Z");
  EXPECT_EQ(format_timestamp(1'714'979'289), "2024-05-06T07:08:09Z");
  EXPECT_EQ(format_timestamp(kLastTimestamp), "9999-12-31T23:59:59Z");
}

TEST(Timestamp, OutsideTheYearsItIsHeldAtTheEnds) {
  EXPECT_EQ(format_timestamp(-1), "1970-01-01T00:00:00Z");
  EXPECT_EQ(format_timestamp(kLastTimestamp + 1), "9999-12-31T23:59:59Z");
}

TEST(Timestamp, DaysAndSecondsThatDoNotExistAreRefused) {
  for (const char* text :
       {"2024-02-30T00:00:00Z", "2023-02-29T00:00:00Z", "2100-02-29T00:00:00Z", "2024-04-31T00:00:00Z",
        "2024-00-10T00:00:00Z", "2024-13-10T00:00:00Z", "2024-01-00T00:00:00Z", "2024-01-32T00:00:00Z",
        "2024-01-01T24:00:00Z", "2024-01-01T00:60:00Z", "2024-01-01T00:00:60Z", "1969-12-31T23:59:59Z"})
    EXPECT_FALSE(parse_timestamp(text)) << text;
  EXPECT_TRUE(parse_timestamp("2000-02-29T00:00:00Z"));
  EXPECT_TRUE(parse_timestamp("2024-02-29T00:00:00Z"));
}

TEST(Timestamp, OtherFormsAreRefused) {
  for (const char* text : {"", "2024-05-06", "2024-05-06T07:08:09", "2024-05-06T07:08:09+00:00", "2024-05-06 07:08:09Z",
                           "2024-05-06t07:08:09z", "2024-05-06T07:08:09.5Z", "24-05-06T07:08:09Z",
                           "2024-05-06T07:08:09Z ", "2024-5-06T007:08:09Z", "-024-05-06T07:08:09Z"})
    EXPECT_FALSE(parse_timestamp(text)) << text;
}

TEST(Timestamp, WhatIsWrittenIsReadBack) {
  base::Rng rng(7);
  for (int i = 0; i < 5000; ++i) {
    const auto moment = static_cast<std::int64_t>(rng.below(static_cast<std::size_t>(kLastTimestamp) + 1));
    ASSERT_EQ(parse_timestamp(format_timestamp(moment)), moment) << "seed 7, " << moment;
  }
}

}  // namespace
}  // namespace halfsplit::formats
