// SPDX-License-Identifier: Apache-2.0
// The idea: years that begin in March, so that a leap day is the last day of its year; 400 such years have 146,097
// days. Source: the rule of the Gregorian calendar; E. G. Richards, "Mapping Time" (1998), for the shift to March.
#include "formats/timestamp.h"

#include <algorithm>

namespace halfsplit::formats {

namespace {

constexpr std::int64_t kDayS = 86'400;
constexpr std::int64_t kDaysTo1970 = 719'468;  // from 0000-03-01

struct Day {
  std::int64_t year, month, day;
};

// Days of the months before month `m` of a year that begins in March (m = 0): 31 30 31 30 31 31 30 31 30 31 31.
std::int64_t days_before_month(std::int64_t m) { return (153 * m + 2) / 5; }

std::int64_t days_since_1970(const Day& d) {
  const std::int64_t year = d.year - (d.month <= 2 ? 1 : 0);
  const std::int64_t month = (d.month + 9) % 12;
  return 365 * year + year / 4 - year / 100 + year / 400 + days_before_month(month) + d.day - 1 - kDaysTo1970;
}

Day day_of(std::int64_t days) {
  days += kDaysTo1970;
  std::int64_t year = (10'000 * days + 14'780) / 3'652'425;
  const auto begin = [](std::int64_t y) { return 365 * y + y / 4 - y / 100 + y / 400; };
  while (begin(year) > days) --year;
  while (begin(year + 1) <= days) ++year;
  const std::int64_t of_year = days - begin(year);
  const std::int64_t month = (5 * of_year + 2) / 153;
  return {year + (month >= 10 ? 1 : 0), (month + 2) % 12 + 1, of_year - days_before_month(month) + 1};
}

// The digits at `at`; -1 when one of them is none.
std::int64_t digits(std::string_view text, std::size_t at, std::size_t count) {
  std::int64_t value = 0;
  for (std::size_t i = at; i < at + count; ++i) {
    if (text[i] < '0' || text[i] > '9') return -1;
    value = 10 * value + (text[i] - '0');
  }
  return value;
}

std::string padded(std::int64_t value, std::size_t width) {
  const std::string text = std::to_string(value);
  return std::string(width - std::min(width, text.size()), '0') + text;
}

}  // namespace

std::optional<std::int64_t> parse_timestamp(std::string_view text) {
  constexpr std::string_view kForm = "0000-00-00T00:00:00Z";
  if (text.size() != kForm.size()) return std::nullopt;
  for (std::size_t i = 0; i < kForm.size(); ++i)
    if (kForm[i] != '0' && kForm[i] != text[i]) return std::nullopt;
  const Day day{digits(text, 0, 4), digits(text, 5, 2), digits(text, 8, 2)};
  const std::int64_t hour = digits(text, 11, 2), minute = digits(text, 14, 2), second = digits(text, 17, 2);
  if (day.year < 1970 || day.month < 1 || day.month > 12 || day.day < 1 || day.day > 31) return std::nullopt;
  if (hour < 0 || hour > 23 || minute < 0 || minute > 59 || second < 0 || second > 59) return std::nullopt;
  const std::int64_t days = days_since_1970(day);
  if (day_of(days).day != day.day) return std::nullopt;  // 31 April became 1 May
  return days * kDayS + hour * 3600 + minute * 60 + second;
}

std::string format_timestamp(std::int64_t seconds) {
  seconds = std::clamp<std::int64_t>(seconds, 0, kLastTimestamp);
  const Day day = day_of(seconds / kDayS);
  const std::int64_t rest = seconds % kDayS;
  return padded(day.year, 4) + "-" + padded(day.month, 2) + "-" + padded(day.day, 2) + "T" + padded(rest / 3600, 2) +
         ":" + padded(rest / 60 % 60, 2) + ":" + padded(rest % 60, 2) + "Z";
}

}  // namespace halfsplit::formats
