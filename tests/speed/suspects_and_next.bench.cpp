// SPDX-License-Identifier: Apache-2.0
// How long one more reading takes: a warm process, a job of six pieces of evidence on a whole vehicle; then `saw` with
// a seventh (it tells what the reading does to the suspects, so that the thinking is done there), `suspects` and `next`
// (all singles, pairs best first), as the command's batch mode runs them. Peer, in the same run:
// one numeric factorisation and one solve of that vehicle's matrix. Goal: 50 of them; and from 300 to 30,000 nodes the
// time may grow with the power 1.2.
#include <benchmark/benchmark.h>

#include <cmath>
#include <cstdlib>
#include <map>

#include "app/operation.h"
#include "base/fakes.h"
#include "base/number.h"
#include "tests/speed/peers.h"
#include "tests/speed/warm_job.h"
#include "tests/support/fleet_loom.h"

namespace halfsplit::bench {
namespace {

std::map<long, double> seconds_by_nodes;  // of the sizes run so far, for the growth

// 30,000 nodes take more than an hour to think the first readings through: only when HALFSPLIT_BENCH_ALL is set.
bool is_left_out(long nodes) { return nodes > 3000 && std::getenv("HALFSPLIT_BENCH_ALL") == nullptr; }

void suspects_and_next(benchmark::State& state) {
  const auto nodes = static_cast<std::size_t>(state.range(0));
  if (is_left_out(state.range(0))) return state.SkipWithError("takes hours: set HALFSPLIT_BENCH_ALL");
  const test::ExampleLoom e = test::load_fleet_loom(nodes, 7).value();
  WarmJob job(e, test::make_fleet_loom(nodes, 7));
  double seconds = 0.0;
  for (auto _ : state) {
    job.take_back();
    seconds = fastest_s(1, [&] { job.see_another(); });
    state.SetIterationTime(seconds);
  }
  if (!job.trouble().empty()) return state.SkipWithError(job.trouble().c_str());
  const double unit = factor_and_solve_s(e);
  state.counters["peer_factor_and_solve_per_s"] = 1.0 / unit;
  state.counters["faults"] = static_cast<double>(e.universe.faults.size());
  state.counters["ratio"] = seconds / unit;
  state.counters["goal_at_most"] = 50.0;
  seconds_by_nodes[state.range(0)] = seconds;
}
BENCHMARK(suspects_and_next)
    ->Arg(300)
    ->Arg(3000)
    ->Arg(30000)
    ->UseManualTime()
    ->Unit(benchmark::kMillisecond)
    ->Iterations(3);

// Runs nothing of its own: the exponent between the smallest and the largest vehicle run above.
void suspects_and_next_growth(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(seconds_by_nodes);
  if (seconds_by_nodes.size() < 2) return state.SkipWithError("needs two sizes of suspects_and_next in the same run");
  const auto& [small, quick] = *seconds_by_nodes.begin();
  const auto& [large, slow] = *seconds_by_nodes.rbegin();
  state.counters["nodes"] = static_cast<double>(large);
  state.counters["ratio"] = std::log(slow / quick) / std::log(static_cast<double>(large) / static_cast<double>(small));
  state.counters["goal_at_most"] = 1.2;
}
BENCHMARK(suspects_and_next_growth)->Iterations(1);

}  // namespace
}  // namespace halfsplit::bench
