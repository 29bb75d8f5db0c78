// SPDX-License-Identifier: Apache-2.0
// A decision should not be felt: under 50 ms for 40 suspects, 80 tests of four outcomes that mislead two times in a
// hundred, and 25 setups. A tree to print may take a second.
#include "plan/decide.h"

#include <benchmark/benchmark.h>

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

void tree(benchmark::State& state, const VehicleSize& size) {
  const plan::Problem problem = make_vehicle_problem(1, size);
  plan::PlanTree grown;
  for (auto _ : state) grown = plan::make_tree(problem);
  state.counters["nodes"] = static_cast<double>(grown.nodes.size());
}
BENCHMARK_CAPTURE(tree, 40_faults, VehicleSize{40, 80, 25, 4, 0.02})->Unit(benchmark::kMillisecond);

}  // namespace
