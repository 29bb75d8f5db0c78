// SPDX-License-Identifier: Apache-2.0
// Goals (release, one core): 6,000 rows by 20 readings in a few milliseconds; one new reading in a twentieth of that;
// two million pairs put in order within half a second. Most faults leave most readings healthy; when every severity
// of every fault moves every reading it takes about twice as long.
#include <benchmark/benchmark.h>

#include "base/rng.h"
#include "infer/explain.h"
#include "infer/pairs.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

struct Job {
  // `touched`: share of faults that bear on a reading; the rest leave it healthy.
  Job(std::size_t fault_count, std::size_t severities, std::size_t columns, double touched = 0.2) {
    base::Rng rng(1);
    for (std::size_t f = 0; f < fault_count; ++f)
      faults.push_back({test::id(f), rng.log_uniform(1e-4, 1e-1), severities});
    rows = make_rows(faults, {});
    table = evidence::ResponseTable(rows.size(), columns);
    for (std::size_t c = 0; c < columns; ++c)
      readings.push_back(c % 4 == 3 ? test::saw_word(evidence::Kind::kLook, 2)
                                    : test::saw(evidence::Kind::kVolts, 12.0));
    for (std::size_t r = 0; r < rows.size(); ++r)
      for (std::size_t c = 0; c < columns; ++c)
        table.at(r, c) = c % 4 == 3 ? test::words(0.1, 0.2, 0.7)
                                    : test::number(rng.chance(touched) ? 24.0 * rng.uniform() : 24.0, 0.3);
    likelihoods = compute_likelihoods(rows, table, readings, noise);
    posterior = compute_posterior(rows, likelihoods);
  }

  std::vector<FaultRate> faults;
  std::vector<Row> rows;
  evidence::ResponseTable table{0, 0};
  std::vector<Reading> readings;
  Noise noise;
  LikelihoodTable likelihoods{0};
  Posterior posterior;
};

void posterior_from_predictions(benchmark::State& state) {
  const Job job(2000, 3, 20);
  for ([[maybe_unused]] auto _ : state)
    benchmark::DoNotOptimize(compute_posterior(job.rows, job.table, job.readings, job.noise));
}
BENCHMARK(posterior_from_predictions)->Unit(benchmark::kMillisecond);

void posterior_when_every_fault_bears_on_every_reading(benchmark::State& state) {
  const Job job(2000, 3, 20, 1.0);
  for ([[maybe_unused]] auto _ : state)
    benchmark::DoNotOptimize(compute_posterior(job.rows, job.table, job.readings, job.noise));
}
BENCHMARK(posterior_when_every_fault_bears_on_every_reading)->Unit(benchmark::kMillisecond);

void posterior_from_kept_columns(benchmark::State& state) {
  const Job job(2000, 3, 20);
  for ([[maybe_unused]] auto _ : state) benchmark::DoNotOptimize(compute_posterior(job.rows, job.likelihoods));
}
BENCHMARK(posterior_from_kept_columns)->Unit(benchmark::kMillisecond);

void one_new_reading(benchmark::State& state) {
  const Job job(2000, 3, 20);
  for ([[maybe_unused]] auto _ : state)
    benchmark::DoNotOptimize(compute_column(job.rows, job.table, 0, job.readings[0], job.noise));
}
BENCHMARK(one_new_reading)->Unit(benchmark::kMillisecond);

void order_of_two_million_pairs(benchmark::State& state) {
  const Job job(2000, 1, 20);
  const PairGuess guess(job.faults, job.rows, job.table, job.likelihoods, job.readings, job.noise);
  PairSearch search;
  search.faults = job.faults;
  search.readings = job.readings;
  search.noise = job.noise;
  search.guess = &guess;
  search.log_evidence_singles = job.posterior.log_evidence;
  search.epsilon = 0.0;
  for ([[maybe_unused]] auto _ : state)
    benchmark::DoNotOptimize(explore_pairs(search, [](std::size_t, std::size_t) { return std::vector<PairRow>{}; }));
}
BENCHMARK(order_of_two_million_pairs)->Unit(benchmark::kMillisecond);

void reasons_of_ten_suspects(benchmark::State& state) {
  const Job job(2000, 3, 20);
  std::vector<std::size_t> top = rank_suspects(job.posterior);
  top.resize(10);
  const ExplainInput input{job.rows, &job.table, &job.likelihoods, job.readings, job.noise, &job.posterior};
  for ([[maybe_unused]] auto _ : state) benchmark::DoNotOptimize(explain(input, top));
}
BENCHMARK(reasons_of_ten_suspects)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace halfsplit::infer
