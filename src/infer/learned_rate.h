// SPDX-License-Identifier: Apache-2.0
// A rate that learns from confirmed repairs. Faults arrive as a Poisson process; belief about the rate is a gamma
// distribution whose mean at the start is the default rate and whose shape is `strength`: the default counts as much as
// `strength` confirmed repairs. After n repairs in T vehicle-years: (strength + n) / (strength / default + T).
// Counts are whole numbers, so taking back what was entered gives the very same rate again.
// Source: conjugate updating of a Poisson rate, any textbook of Bayesian statistics (from memory).
#pragma once

#include <cstdint>

namespace halfsplit::infer {

struct LearnedRate {
  double default_per_year = 0.0;  // above 0
  double strength = 2.0;          // above 0; ours
  std::int64_t confirmed = 0;     // repairs proven
  std::int64_t vehicle_days = 0;  // watched: vehicles times days
};

// What one job adds; taken back with take_back. Taking back more than was added is a bug.
struct Experience {
  std::int64_t confirmed = 0;
  std::int64_t vehicle_days = 0;
};
void add(LearnedRate& rate, const Experience& experience);
void take_back(LearnedRate& rate, const Experience& experience);

[[nodiscard]] double mean_per_year(const LearnedRate& rate);
[[nodiscard]] double deviation_per_year(const LearnedRate& rate);  // standard deviation of the belief

// A kind's and an item's experience together: the default times both factors (learned mean over default).
[[nodiscard]] double factor(const LearnedRate& rate);

}  // namespace halfsplit::infer
