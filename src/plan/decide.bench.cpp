// SPDX-License-Identifier: Apache-2.0
// A decision should not be felt: under 50 ms for 40 suspects, 80 tests of four outcomes that mislead two times in a
// hundred, and 25 setups. A tree to print may take a second. The best plan of 20 suspects, 20 tests and 5 setups: under
// 60 s and 2 GB (docs/performance.md).
#include "plan/decide.h"

#include <benchmark/benchmark.h>
#include <sys/resource.h>

#include "plan/exact.h"
#include "plan/random_problems.h"
#include "plan/tree.h"

namespace {

using halfsplit::plan::made_up::make_vehicle_problem;
using halfsplit::plan::made_up::VehicleSize;
namespace plan = halfsplit::plan;

void decide(benchmark::State& state, const VehicleSize& size) {
  const plan::Problem problem = make_vehicle_problem(1, size);
  plan::Decision decision;
  for (auto _ : state) decision = plan::decide(problem);
  state.counters["minutes"] = decision.expected_minutes;
  state.counters["gap"] = decision.gap();
}
BENCHMARK_CAPTURE(decide, 12_faults, VehicleSize{12, 12, 3, 2, 0.02})->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(decide, 40_faults, VehicleSize{40, 80, 25, 4, 0.02})->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(decide, 40_faults_sure, VehicleSize{40, 80, 25, 4, 0.0})->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(decide, 200_faults, VehicleSize{200, 500, 200, 4, 0.02})->Unit(benchmark::kMillisecond);

void exact(benchmark::State& state, const VehicleSize& size) {
  const plan::Problem problem = make_vehicle_problem(1, size);
  plan::ExactResult result;
  for (auto _ : state) result = plan::solve_exact(problem);
  state.counters["states"] = static_cast<double>(result.states);
}
BENCHMARK_CAPTURE(exact, 12_faults_sure, VehicleSize{12, 12, 3, 2, 0.0})->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(exact, 8_faults_misleading, VehicleSize{8, 8, 3, 2, 0.03})->Unit(benchmark::kMillisecond);

// Counters: states visited, whether the best plan was proved within the states allowed, the largest memory of this
// process so far (run one alone for its own), and what decide() says it may be off by.
void exact_of_seed(benchmark::State& state, const VehicleSize& size) {
  const plan::Problem problem = make_vehicle_problem(static_cast<std::uint64_t>(state.range(0)), size);
  const plan::Decision decision = plan::decide(problem);
  plan::ExactOptions options;
  options.max_states = static_cast<std::size_t>(state.range(1));
  options.known_minutes = decision.expected_minutes;
  plan::ExactResult result;
  for (auto _ : state) result = plan::solve_exact(problem, options);
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  state.counters["states"] = static_cast<double>(result.states);
  state.counters["proved"] = result.complete ? 1.0 : 0.0;
  state.counters["peak_MB"] = static_cast<double>(usage.ru_maxrss) / 1024.0;
  state.counters["decide_gap"] = decision.gap();
}
BENCHMARK_CAPTURE(exact_of_seed, 20x20x5_sure, VehicleSize{20, 20, 5, 2, 0.0})
    ->ArgsProduct({{1, 2, 3, 4, 5}, {2'000'000}})
    ->ArgNames({"seed", "states"})
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(exact_of_seed, 12x12x5_misleading, VehicleSize{12, 12, 5, 2, 0.02})
    ->ArgsProduct({{1, 2, 3}, {10'000'000}})
    ->ArgNames({"seed", "states"})
    ->Unit(benchmark::kMillisecond)
    ->Iterations(1);
BENCHMARK_CAPTURE(exact_of_seed, 20x20x5_misleading, VehicleSize{20, 20, 5, 2, 0.02})
    ->ArgsProduct({{1, 2, 3}, {10'000'000}})
    ->ArgNames({"seed", "states"})
    ->Unit(benchmark::kMillisecond)
    ->Iterations(1);

void tree(benchmark::State& state, const VehicleSize& size) {
  const plan::Problem problem = make_vehicle_problem(1, size);
  plan::PlanTree grown;
  for (auto _ : state) grown = plan::make_tree(problem);
  state.counters["nodes"] = static_cast<double>(grown.nodes.size());
}
BENCHMARK_CAPTURE(tree, 40_faults, VehicleSize{40, 80, 25, 4, 0.02})->Unit(benchmark::kMillisecond);

}  // namespace
