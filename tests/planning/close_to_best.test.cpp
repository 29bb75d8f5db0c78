// SPDX-License-Identifier: Apache-2.0
// How close to the best plan the planner comes, on random problems whose best plan the exact search proves: the true
// expected minutes of deciding anew at every step, through every outcome, over the optimum. Three ways of deciding: as
// it is; with lookahead and rollouts alone; with the first wave of rollouts alone. What each first decision says of
// itself is held against the optimum too. Every kind of problem has a few here and many in the slow configuration:
// HALFSPLIT_PLANS_ALL=1, some 6,000.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "../twins/plan_follow.h"
#include "plan/decide.h"
#include "plan/exact.h"
#include "plan/random_problems.h"
#include "plan/situation.h"

namespace halfsplit {
namespace {

struct Kind {
  std::string name;
  std::function<plan::Problem(std::uint64_t)> make;
  std::uint64_t few;
  std::uint64_t many;
};

Kind mixed(const std::string& name, const plan::made_up::RandomSize& size, std::uint64_t few, std::uint64_t many) {
  return {name, [size](std::uint64_t seed) { return plan::made_up::make_random_problem(seed, size); }, few, many};
}

Kind vehicle(const std::string& name, const plan::made_up::VehicleSize& size, std::uint64_t few, std::uint64_t many) {
  return {name, [size](std::uint64_t seed) { return plan::made_up::make_vehicle_problem(seed, size); }, few, many};
}

std::vector<Kind> all_kinds() {
  return {
      mixed("a bit of everything, 2-4 faults", {2, 4, 3, 3, 0.4}, 220, 1'200),
      mixed("a bit of everything, 6-9 faults", {6, 9, 8, 4, 1.0}, 50, 1'200),
      vehicle("12 faults, sure readings", {12, 12, 3, 2, 0.0}, 60, 1'000),
      vehicle("24 faults, sure readings", {24, 24, 6, 2, 0.0}, 6, 800),
      vehicle("30 faults, three outcomes", {30, 30, 8, 3, 0.0}, 4, 600),
      vehicle("6 faults, 5 in 100 mislead", {6, 8, 2, 2, 0.05}, 12, 800),
      vehicle("8 faults, 3 in 100 mislead", {8, 8, 3, 2, 0.03}, 2, 300),
      vehicle("8 faults, 10 in 100 mislead", {8, 8, 3, 2, 0.10}, 1, 150),
  };
}

struct Way {
  std::string name;
  plan::DecideOptions options;
};

std::vector<Way> all_ways() {
  std::vector<Way> ways{{"as it is", {}}, {"lookahead alone", {}}, {"first wave alone", {}}};
  ways[1].options.exact_states = 0;
  ways[2].options.exact_states = 0;
  ways[2].options.work_budget = 0;
  return ways;
}

bool same(const plan::Decision& a, const plan::Decision& b) {
  const bool candidates = std::equal(a.candidates.begin(), a.candidates.end(), b.candidates.begin(), b.candidates.end(),
                                     [](const plan::Candidate& x, const plan::Candidate& y) {
                                       return x.action == y.action && x.expected_minutes == y.expected_minutes &&
                                              x.lower_bound == y.lower_bound;
                                     });
  return candidates && a.action == b.action && a.expected_minutes == b.expected_minutes &&
         a.lower_bound == b.lower_bound && a.exact == b.exact && a.steps == b.steps && a.work == b.work;
}

// What a decision says of itself, and that it says it again.
void check_claims(const plan::Problem& problem, const plan::DecideOptions& options, double optimum) {
  const plan::Decision decision = plan::decide(problem, options);
  EXPECT_GE(decision.expected_minutes, optimum - 1e-6);
  EXPECT_LE(decision.lower_bound, optimum + 1e-6);
  if (decision.exact) {
    EXPECT_NEAR(decision.expected_minutes, optimum, 1e-6);
  }
  EXPECT_TRUE(same(decision, plan::decide(problem, options)));
  for (const plan::Candidate& candidate : decision.candidates) {
    EXPECT_LE(candidate.lower_bound, candidate.expected_minutes + 1e-9);
    EXPECT_GE(candidate.expected_minutes, optimum - 1e-6);
  }
}

// plan::decide() that remembers where it has been: the same place is often reached in another order.
class Decider {
 public:
  explicit Decider(const plan::DecideOptions& options) : options_(options) {}

  plan::Decision operator()(const plan::Problem& problem) {
    const auto [at, is_new] = known_.try_emplace(key(problem));
    if (is_new) at->second = plan::decide(problem, options_);
    return at->second;
  }

 private:
  // What changes along a job.
  static std::string key(const plan::Problem& problem) {
    std::string out;
    for (const plan::Fault& fault : problem.faults) out += std::to_string(std::llround(fault.prior * 1e12)) + ' ';
    for (const plan::Test& test : problem.tests) out += test.name + ' ';
    for (const plan::Repair& repair : problem.repairs) out += repair.name + ' ';
    problem.initial_setups.for_each([&](plan::SetupId s) { out += std::to_string(s.index()) + ','; });
    return out;
  }

  plan::DecideOptions options_;
  std::map<std::string, plan::Decision> known_;
};

class Ratios {
 public:
  void add(std::uint64_t seed, double ratio) { ratios_.push_back({ratio, seed}); }
  void add(const Ratios& others) { ratios_.insert(ratios_.end(), others.ratios_.begin(), others.ratios_.end()); }

  [[nodiscard]] double mean() const {
    double sum = 0.0;
    for (const auto& [ratio, seed] : ratios_) sum += ratio;
    return sum / static_cast<double>(ratios_.size());
  }
  // The ratio that this share of the problems does not exceed.
  [[nodiscard]] double quantile(double share) const {
    auto sorted = ratios_;
    std::sort(sorted.begin(), sorted.end());
    const auto rank = static_cast<std::size_t>(share * static_cast<double>(sorted.size()));
    return sorted[std::min(rank, sorted.size() - 1)].first;
  }
  void print(const std::string& way, const std::string& kind) const {
    const auto worst = std::max_element(ratios_.begin(), ratios_.end());
    std::printf("  %-16s  %-32s %5zu problems: mean %.5f, 99 in 100 %.4f, worst %.4f (seed %llu)\n", way.c_str(),
                kind.c_str(), ratios_.size(), mean(), quantile(0.99), worst->first,
                static_cast<unsigned long long>(worst->second));
    std::fflush(stdout);
  }

 private:
  std::vector<std::pair<double, std::uint64_t>> ratios_;
};

// One kind of problem, decided in every way; problems[w] gets the ratios of way w. Those that cost nothing have none.
std::vector<Ratios> measure(const Kind& kind, std::uint64_t count, const std::vector<Way>& ways) {
  std::vector<Ratios> out(ways.size());
  for (std::uint64_t seed = 1; seed <= count; ++seed) {
    const plan::Problem problem = kind.make(seed);
    const plan::ExactResult best = plan::solve_exact(problem);
    EXPECT_TRUE(best.complete) << kind.name << ", seed " << seed;
    for (std::size_t w = 0; w < ways.size() && best.complete; ++w) {
      SCOPED_TRACE(kind.name + ", seed " + std::to_string(seed) + ", " + ways[w].name);
      check_claims(problem, ways[w].options, best.minutes);
      twins::PlanFollower follower{Decider(ways[w].options)};
      const double minutes = follower.follow(problem);
      EXPECT_GE(minutes, best.minutes - 1e-6);
      if (best.minutes > 0.0) out[w].add(seed, minutes / best.minutes);
    }
  }
  return out;
}

TEST(PlanQuality, IsWithinThreePerCentOfTheBestOnAverage) {
  const bool many = std::getenv("HALFSPLIT_PLANS_ALL") != nullptr;
  const std::vector<Way> ways = all_ways();
  std::vector<Ratios> sums(ways.size());
  for (const Kind& kind : all_kinds()) {
    const std::vector<Ratios> ratios = measure(kind, many ? kind.many : kind.few, ways);
    for (std::size_t w = 0; w < ways.size(); ++w) {
      ratios[w].print(ways[w].name, kind.name);
      sums[w].add(ratios[w]);
    }
  }
  for (std::size_t w = 0; w < ways.size(); ++w) {
    sums[w].print(ways[w].name, "all");
    EXPECT_LE(sums[w].mean(), 1.03) << ways[w].name;
    EXPECT_LE(sums[w].quantile(0.99), 1.10) << ways[w].name;
  }
}

// What every plan costs from a place on, tests that tell nothing included; mass-weighted. Empty: more than `most`.
class EveryPlan {
 public:
  explicit EveryPlan(const plan::Problem& problem, std::size_t most) : problem_(problem), most_(most) {}

  std::vector<double> costs(const plan::Situation& here) {
    std::vector<double> out;
    if (may_stop(here)) out.push_back(mass(here) * plan::minutes_of(problem_, here, plan::Action{}));
    for (const plan::Action& action : actions(here)) {
      if (overflown_) return {};
      add_plans(here, action, out);
      tidy(out);
    }
    return overflown_ ? std::vector<double>{} : out;
  }

 private:
  static double mass(const plan::Situation& here) {
    double sum = 0.0;
    for (const double weight : here.weights) sum += weight;
    return sum;
  }

  // No test parts what is left.
  [[nodiscard]] bool nothing_tells(const plan::Situation& here) const {
    for (std::size_t t = 0; t < problem_.tests.size(); ++t) {
      const std::size_t k = problem_.tests[t].outcomes.size();
      const double* table = problem_.tests[t].table.data();
      const double* first = nullptr;
      for (std::size_t f = 0; f < here.weights.size() && here.tests_left[t]; ++f) {
        if (!(here.weights[f] > 0.0)) continue;
        if (first == nullptr) first = table + f * k;
        if (!std::equal(first, first + k, table + f * k)) return false;
      }
    }
    return true;
  }

  [[nodiscard]] bool may_stop(const plan::Situation& here) const {
    return problem_.goal == plan::Goal::kIsolate && (plan::is_isolated(problem_, here) || nothing_tells(here));
  }

  [[nodiscard]] std::vector<plan::Action> actions(const plan::Situation& here) const {
    std::vector<plan::Action> out;
    for (std::size_t t = 0; t < problem_.tests.size(); ++t) {
      if (here.tests_left[t]) out.push_back({plan::ActionKind::kTest, t});
    }
    for (std::size_t r = 0; r < problem_.repairs.size() && problem_.goal == plan::Goal::kRepair; ++r) {
      const bool mends =
          here.repairs_left[r] && std::any_of(problem_.repairs[r].mends.begin(), problem_.repairs[r].mends.end(),
                                              [&](plan::FaultId f) { return here.weights[f.index()] > 0.0; });
      if (mends) out.push_back({plan::ActionKind::kRepair, r});
    }
    return out;
  }

  void add_plans(const plan::Situation& here, const plan::Action& action, std::vector<double>& out) {
    std::vector<double> sums{mass(here) * plan::minutes_of(problem_, here, action)};
    for (std::size_t o = 0; o < plan::outcome_count(problem_, action); ++o) {
      const double part = mass(here) * plan::outcome_probability(problem_, here, action, o);
      if (!(part > 0.0)) continue;
      if (action.kind == plan::ActionKind::kRepair && o == plan::kMended) {
        plan::Situation end = here;
        end.made = plan::setups_after(problem_, here.made, action);
        for (double& sum : sums) sum += part * plan::minutes_of(problem_, end, plan::Action{});
      } else {
        sums = all_sums(sums, costs(plan::after(problem_, here, action, o)));
      }
    }
    out.insert(out.end(), sums.begin(), sums.end());
  }

  std::vector<double> all_sums(const std::vector<double>& a, const std::vector<double>& b) {
    std::vector<double> out;
    overflown_ = overflown_ || a.size() * b.size() > most_;
    for (std::size_t i = 0; i < a.size() && !overflown_; ++i) {
      for (const double more : b) out.push_back(a[i] + more);
    }
    tidy(out);
    return out;
  }

  void tidy(std::vector<double>& sums) {
    std::sort(sums.begin(), sums.end());
    sums.erase(std::unique(sums.begin(), sums.end(), [](double a, double b) { return b - a < 1e-11; }), sums.end());
    overflown_ = overflown_ || sums.size() > most_;
  }

  const plan::Problem& problem_;
  std::size_t most_;
  bool overflown_ = false;
};

// The minutes expected are those of a plan that can be carried out, not an estimate. Where all plans can be written
// out; with next to no work, so that the plan found is often not the best.
TEST(PlanQuality, ExpectedMinutesAreThoseOfAPlan) {
  plan::DecideOptions options = all_ways().back().options;
  std::size_t seen = 0;
  std::size_t not_best = 0;
  for (std::uint64_t seed = 1; seed <= 700; ++seed) {
    const plan::Problem problem = plan::made_up::make_random_problem(seed, {2, 4, 3, 2, 0.4});
    const std::vector<double> costs = EveryPlan(problem, 200'000).costs(plan::start_of(problem));
    if (costs.empty()) continue;
    ++seen;
    const double expected = plan::decide(problem, options).expected_minutes;
    if (expected > costs.front() + 1e-6) ++not_best;
    const auto above = std::lower_bound(costs.begin(), costs.end(), expected - 1e-8);
    ASSERT_TRUE(above != costs.end() && *above < expected + 1e-8) << "seed " << seed << ": " << expected;
  }
  std::printf("  %zu problems whose plans were all written out; %zu first answers above the best\n", seen, not_best);
  EXPECT_GE(seen, 500U);
  EXPECT_GE(not_best, 5U);
}

}  // namespace
}  // namespace halfsplit
