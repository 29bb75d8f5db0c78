// SPDX-License-Identifier: Apache-2.0
#include "report/time_axis.h"

#include <algorithm>
#include <array>

#include "base/number.h"

namespace halfsplit::report {

namespace {

constexpr std::int64_t kMsUs = 1'000, kSecUs = 1'000'000, kMinUs = 60 * kSecUs, kHrUs = 60 * kMinUs;
constexpr std::array<std::int64_t, 27> kSteps = {
    kMsUs,       2 * kMsUs,   5 * kMsUs,  10 * kMsUs, 20 * kMsUs,  50 * kMsUs,  100 * kMsUs,
    200 * kMsUs, 500 * kMsUs, kSecUs,     2 * kSecUs, 5 * kSecUs,  10 * kSecUs, 20 * kSecUs,
    30 * kSecUs, kMinUs,      2 * kMinUs, 5 * kMinUs, 10 * kMinUs, 20 * kMinUs, 30 * kMinUs,
    kHrUs,       2 * kHrUs,   6 * kHrUs,  12 * kHrUs, 24 * kHrUs,  240 * kHrUs};
constexpr std::int64_t kMostMarks = 11;

std::string axis_text(std::int64_t us) {
  if (us < kMinUs) return base::format_number(static_cast<double>(us) / 1.0e6) + " s";
  const auto two = [](std::int64_t n) { return (n < 10 ? "0" : "") + std::to_string(n); };
  const std::int64_t seconds = us / kSecUs;
  if (us < kHrUs) return std::to_string(seconds / 60) + ":" + two(seconds % 60);
  return std::to_string(seconds / 3600) + ":" + two(seconds / 60 % 60) + ":" + two(seconds % 60);
}

}  // namespace

int TimeAxis::at(std::int64_t us) const {
  const double share =
      static_cast<double>(std::clamp<std::int64_t>(us, 0, duration_us_)) / static_cast<double>(duration_us_);
  return left_ + static_cast<int>(share * width_ + 0.5);
}

std::vector<std::pair<int, std::string>> TimeAxis::marks() const {
  std::int64_t step = kSteps.back();
  for (const std::int64_t one : kSteps) {
    if (duration_us_ / one > kMostMarks) continue;
    step = one;
    break;
  }
  while (duration_us_ / step > kMostMarks) step *= 10;
  std::vector<std::pair<int, std::string>> marks;
  for (std::int64_t us = 0; us <= duration_us_; us += step) marks.emplace_back(at(us), axis_text(us));
  return marks;
}

}  // namespace halfsplit::report
