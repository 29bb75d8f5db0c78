// SPDX-License-Identifier: Apache-2.0
// The slow twin of infer: every single fault and every pair of a small string of contacts written out one by one, with
// plain products in long double, against compute_posterior and explore_pairs.
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <set>
#include <vector>

#include "base/rng.h"
#include "infer/pairs.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;
using test::id;
using Set = std::set<std::size_t>;

constexpr std::uint64_t kSeed = 31337;

// A 24 V feed through contacts in a row to a 10 ohm lamp; the meter has 10 Mohm. Even faults open contact f / 2; odd
// ones put a resistance into it, in three severities. Readings: volts at some points, ohms of the whole string, and how
// the lamp looks.
struct String {
  explicit String(std::size_t contacts) : contacts_(contacts) {}
  [[nodiscard]] std::size_t faults() const { return 2 * contacts_; }
  [[nodiscard]] static std::size_t severities(std::size_t fault) { return fault % 2 == 0 ? 1 : 3; }

  struct State {
    std::size_t fault;
    std::size_t severity;
  };
  [[nodiscard]] std::vector<double> resistances(const std::vector<State>& states) const {
    std::vector<double> ohm(contacts_, 0.01);
    const double severity_ohm[] = {1.0, 8.0, 60.0};
    for (const State& state : states)
      ohm[state.fault / 2] += state.fault % 2 == 0 ? 1e12 : severity_ohm[state.severity];
    return ohm;
  }
  // Columns: volts behind contact 0, 1, ...; then ohms; then look.
  [[nodiscard]] std::vector<evidence::Prediction> predict(const std::vector<State>& states) const {
    const std::vector<double> ohm = resistances(states);
    double total = 10.0;
    for (const double r : ohm) total += r;
    std::vector<evidence::Prediction> out;
    double before = 0.0;
    for (const double r : ohm) {
      before += r;
      const double below = 1.0 / (1.0 / (total - before) + 1.0 / 1e7);
      const double volts = 24.0 * below / (before + below);
      out.push_back(test::number(volts, 0.02 + 0.01 * volts));
    }
    out.push_back(total > 1e6 ? test::over_range() : test::number(total, 0.2 + 0.02 * total));
    const double power = 100.0 / (total * total);
    out.push_back(power > 0.6 ? test::words(0.97, 0.02, 0.01)
                              : (power > 0.01 ? test::words(0.1, 0.8, 0.1) : test::words(0.0, 0.05, 0.95)));
    return out;
  }

 private:
  std::size_t contacts_;
};

// Written out from the definitions of likelihood.h, apart from the code of the room.
long double naive_density(const evidence::Prediction& prediction, const Reading& reading, const Noise& noise) {
  const long double wrong = reading.kind == Kind::kLook ? noise.misread : noise.mis_probe;
  const long double broad = broad_density(reading, noise);
  const evidence::Component& component = prediction.components.front();
  long double density = 0.0L;
  if (reading.kind == Kind::kLook) {
    density = static_cast<long double>(component.category[static_cast<std::size_t>(reading.seen.category)]);
  } else if (component.over_range || reading.seen.over_range) {
    density = component.over_range == reading.seen.over_range ? 1.0L : 0.0L;
  } else {
    const auto normal = [&](long double sigma) {
      const long double z = (static_cast<long double>(reading.seen.value) - component.mean) / sigma;
      return std::exp(-z * z / 2.0L) / (sigma * std::sqrt(2.0L * 3.14159265358979323846264L));
    };
    const long double sigma = std::max(component.sigma, smallest_sigma(reading));
    density = 0.95L * normal(sigma) + 0.05L * normal(3.0L * sigma);
  }
  return wrong * broad + (1.0L - wrong) * density;
}

struct Job {
  Job(base::Rng& rng, std::size_t contacts) : string(contacts) {
    for (std::size_t f = 0; f < string.faults(); ++f)
      faults.push_back({id(f), rng.log_uniform(1e-3, 1e-1), String::severities(f)});
    // The truth: a pair, now and then with a slip.
    const std::size_t a = rng.below(string.faults());
    const std::size_t other = rng.below(string.faults() - 1);
    const std::size_t b = other < a ? other : other + 1;
    for (const evidence::Prediction& prediction : string.predict({{a, 1}, {b, 1}}))
      readings.push_back(read(rng, prediction));
  }
  Reading read(base::Rng& rng, const evidence::Prediction& prediction) const {
    const std::size_t place = readings.size();
    const evidence::Component& component = prediction.components.front();
    if (place == string.faults() / 2 + 1) return test::saw_word(Kind::kLook, static_cast<int>(rng.below(3)));
    const Kind kind = place == string.faults() / 2 ? Kind::kOhms : Kind::kVolts;
    if (rng.chance(0.1)) return test::saw(kind, 24.0 * rng.uniform());
    return component.over_range ? test::saw_over_range(kind)
                                : test::saw(kind, component.mean + component.sigma * rng.normal());
  }

  String string;
  std::vector<FaultRate> faults;
  std::vector<Reading> readings;
  PriorShares shares{0.08, 0.05};
  Noise noise;
};

long double naive_likelihood(const Job& job, const std::vector<String::State>& states) {
  const std::vector<evidence::Prediction> line = job.string.predict(states);
  long double product = 1.0L;
  for (std::size_t c = 0; c < line.size(); ++c) product *= naive_density(line[c], job.readings[c], job.noise);
  return product;
}

// Joint probability of every set of one or two faults; the empty set is "not on this drawing".
std::map<Set, long double> enumerate(const Job& job) {
  std::map<Set, long double> out;
  long double rates = 0.0L, products = 0.0L;
  for (const FaultRate& fault : job.faults) rates += fault.rate_per_year;
  for (std::size_t i = 0; i < job.faults.size(); ++i)
    for (std::size_t j = i + 1; j < job.faults.size(); ++j)
      products += static_cast<long double>(job.faults[i].rate_per_year) * job.faults[j].rate_per_year;
  long double beyond = 1.0L;
  const std::vector<evidence::Prediction> healthy = job.string.predict({});
  for (std::size_t c = 0; c < job.readings.size(); ++c)
    beyond *= 0.5L * naive_density(healthy[c], job.readings[c], job.noise) +
              0.5L * static_cast<long double>(broad_density(job.readings[c], job.noise));
  out[{}] = static_cast<long double>(job.shares.not_drawn) * beyond;
  for (std::size_t i = 0; i < job.faults.size(); ++i) {
    const long double prior = (1.0L - job.shares.not_drawn - job.shares.pairs) * job.faults[i].rate_per_year / rates;
    for (std::size_t s = 0; s < job.faults[i].severities; ++s)
      out[{i}] += prior / job.faults[i].severities * naive_likelihood(job, {{i, s}});
    for (std::size_t j = i + 1; j < job.faults.size(); ++j) {
      const long double rate = static_cast<long double>(job.faults[i].rate_per_year) * job.faults[j].rate_per_year;
      const auto count = static_cast<long double>(job.faults[i].severities * job.faults[j].severities);
      for (std::size_t s = 0; s < job.faults[i].severities; ++s)
        for (std::size_t t = 0; t < job.faults[j].severities; ++t)
          out[{i, j}] += job.shares.pairs * rate / products / count * naive_likelihood(job, {{i, s}, {j, t}});
    }
  }
  return out;
}

struct Belief {
  Posterior posterior;
  PairsFound found;
};

Belief compute_belief(const Job& job, std::size_t budget, double epsilon, double keep) {
  std::vector<Row> rows = make_rows(job.faults, job.shares);
  for (Row& row : rows) row.follows = false;  // severities as points; the average between them has a test of its own
  evidence::ResponseTable table(rows.size(), job.readings.size());
  std::size_t severity = 0;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    severity = r > 0 && rows[r].first == rows[r - 1].first ? severity + 1 : 0;
    const std::vector<evidence::Prediction> line =
        is_not_drawn(rows[r]) ? job.string.predict({}) : job.string.predict({{rows[r].first.index(), severity}});
    for (std::size_t c = 0; c < line.size(); ++c) table.at(r, c) = line[c];
  }
  LikelihoodTable likelihoods = compute_likelihoods(rows, table, job.readings, job.noise);
  const PairGuess guess(job.faults, rows, table, likelihoods, job.readings, job.noise);
  PairSearch search;
  search.faults = job.faults;
  search.shares = job.shares;
  search.readings = job.readings;
  search.noise = job.noise;
  search.guess = &guess;
  search.log_evidence_singles = compute_posterior(rows, likelihoods).log_evidence;
  search.epsilon = epsilon;
  search.budget = budget;
  search.keep = keep;
  Belief out;
  out.found = explore_pairs(search, [&](std::size_t i, std::size_t j) {
    std::vector<PairRow> replies;
    const std::size_t count = job.faults[i].severities * job.faults[j].severities;
    for (std::size_t s = 0; s < job.faults[i].severities; ++s)
      for (std::size_t t = 0; t < job.faults[j].severities; ++t)
        replies.push_back({0.5, 0.5, 1.0 / static_cast<double>(count), false, job.string.predict({{i, s}, {j, t}})});
    return replies;
  });
  append_pairs(out.found, rows, table, likelihoods);
  out.posterior = compute_posterior(rows, likelihoods, {out.found.log_left_out_bound});
  return out;
}

Set set_of(const Suspect& suspect) {
  Set out;
  for (const fault::FaultId fault : faults_of(suspect.faults)) out.insert(fault.index());
  return out;
}

long double sum_of(const std::map<Set, long double>& joint) {
  long double sum = 0.0L;
  for (const auto& [set, mass] : joint) sum += mass;
  return sum;
}

TEST(InferTwin, EveryProbabilityEqualsEnumeration) {
  base::Rng rng(kSeed);
  for (int k = 0; k < 40; ++k) {
    const Job job(rng, 2 + rng.below(4));
    const std::map<Set, long double> joint = enumerate(job);
    const long double total = sum_of(joint);
    const Belief belief = compute_belief(job, 1000, 0.0, 0.0);
    ASSERT_EQ(belief.posterior.suspects.size(), joint.size()) << "seed " << kSeed;
    EXPECT_NEAR(belief.posterior.log_evidence, static_cast<double>(std::log(total)), 1e-9);
    for (const Suspect& suspect : belief.posterior.suspects)
      EXPECT_NEAR(suspect.probability, static_cast<double>(joint.at(set_of(suspect)) / total), 1e-9)
          << "seed " << kSeed;
    for (std::size_t f = 0; f < job.faults.size(); ++f) {
      long double marginal = 0.0L;
      for (const auto& [set, mass] : joint) marginal += set.count(f) == 1 ? mass / total : 0.0L;
      EXPECT_NEAR(belief.posterior.fault[f], static_cast<double>(marginal), 1e-9);
    }
    EXPECT_EQ(belief.posterior.unexplored, 0.0);
  }
}

TEST(InferTwin, AShortSearchIsWithinItsBoundOfEnumeration) {
  base::Rng rng(kSeed + 1);
  int best_seen = 0;
  for (int k = 0; k < 40; ++k) {
    const Job job(rng, 4 + rng.below(3));
    const std::map<Set, long double> joint = enumerate(job);
    const long double total = sum_of(joint);
    const Belief belief = compute_belief(job, 12, 1e-3, 1e-6);
    std::set<Set> seen;
    for (const Suspect& suspect : belief.posterior.suspects) seen.insert(set_of(suspect));
    long double missing = 0.0L;
    Set best;
    long double best_mass = -1.0L;
    for (const auto& [set, mass] : joint) {
      if (seen.count(set) == 0) missing += mass;
      if (mass > best_mass) {
        best = set;
        best_mass = mass;
      }
    }
    EXPECT_GE(belief.posterior.unexplored, static_cast<double>(missing / total) * (1.0 - 1e-9)) << "seed " << kSeed + 1;
    best_seen += seen.count(best) == 1 ? 1 : 0;
  }
  // Best first: twelve pairs of the 28 to 66 are enough to hold the leading explanation nearly always.
  EXPECT_GE(best_seen, 38);
}

}  // namespace
}  // namespace halfsplit::infer
