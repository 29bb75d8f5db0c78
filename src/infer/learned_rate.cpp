// SPDX-License-Identifier: Apache-2.0
#include "infer/learned_rate.h"

#include <cmath>

#include "base/check.h"

namespace halfsplit::infer {

namespace {

constexpr double kDaysPerYear = 365.25;

double shape(const LearnedRate& rate) { return rate.strength + static_cast<double>(rate.confirmed); }

double watched_years(const LearnedRate& rate) {
  return rate.strength / rate.default_per_year + static_cast<double>(rate.vehicle_days) / kDaysPerYear;
}

void check(const LearnedRate& rate) {
  HS_CHECK(rate.default_per_year > 0.0 && rate.strength > 0.0, "a learned rate starts above zero");
  HS_CHECK(rate.confirmed >= 0 && rate.vehicle_days >= 0, "no more experience is taken back than was added");
}

}  // namespace

void add(LearnedRate& rate, const Experience& experience) {
  rate.confirmed += experience.confirmed;
  rate.vehicle_days += experience.vehicle_days;
  check(rate);
}

void take_back(LearnedRate& rate, const Experience& experience) {
  rate.confirmed -= experience.confirmed;
  rate.vehicle_days -= experience.vehicle_days;
  check(rate);
}

double mean_per_year(const LearnedRate& rate) {
  check(rate);
  return shape(rate) / watched_years(rate);
}

double deviation_per_year(const LearnedRate& rate) {
  check(rate);
  return std::sqrt(shape(rate)) / watched_years(rate);
}

double factor(const LearnedRate& rate) { return mean_per_year(rate) / rate.default_per_year; }

}  // namespace halfsplit::infer
