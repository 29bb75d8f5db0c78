// SPDX-License-Identifier: Apache-2.0
// The peers by themselves, so that a figure can be read back into seconds.
#include <benchmark/benchmark.h>

#include "tests/speed/peers.h"
#include "tests/support/fleet_loom.h"

namespace halfsplit::bench {
namespace {

void sparse_factor_and_solve(benchmark::State& state) {
  const test::ExampleLoom e = test::load_fleet_loom(static_cast<std::size_t>(state.range(0)), 7).value();
  for (auto _ : state) state.SetIterationTime(factor_and_solve_s(e));
  state.counters["nodes"] = static_cast<double>(e.netlist.node_count());
}
BENCHMARK(sparse_factor_and_solve)->Arg(300)->Arg(3000)->Arg(30000)->UseManualTime()->Iterations(1);

void ngspice_operating_point(benchmark::State& state) {
  const test::ExampleLoom e = test::load_fleet_loom(static_cast<std::size_t>(state.range(0)), 7).value();
  const int count = static_cast<int>(state.range(1));
  for (auto _ : state) state.SetIterationTime(ngspice_operating_point_s(e, count));
}
BENCHMARK(ngspice_operating_point)
    ->Args({300, 300})
    ->Args({3000, 40})
    ->Args({30000, 3})
    ->UseManualTime()
    ->Unit(benchmark::kMillisecond)
    ->Iterations(1);

}  // namespace
}  // namespace halfsplit::bench
