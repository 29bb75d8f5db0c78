// SPDX-License-Identifier: Apache-2.0
// How long every single fault of a vehicle of buses takes to its whole list: every timeout code and every module's
// answer, at work, in a new campaign. Peer, in the same run: one numeric factorisation and one solve of that vehicle's
// matrix. Goal: 200 of them for 60 modules on six segments.
#include <benchmark/benchmark.h>

#include "candidates/generate.h"
#include "predict/campaign.h"
#include "tests/speed/peers.h"
#include "tests/support/bus_vehicle.h"

namespace halfsplit::bench {
namespace {

test::ExampleLoom load(std::size_t segments, std::size_t nodes) {
  const std::string text = test::make_bus_vehicle(segments, nodes);
  base::Result<circuit::Loom> loom =
      formats::read_loom("buses.loom.toml", [&](const std::string&) { return base::Result<std::string>(text); });
  test::ExampleLoom e;
  e.loom = std::move(loom).value();
  e.netlist = circuit::build_netlist(e.loom);
  e.universe = fault::make_universe(e.loom, e.netlist);
  return e;
}

void bus_codes(benchmark::State& state) {
  const test::ExampleLoom e = load(static_cast<std::size_t>(state.range(0)), static_cast<std::size_t>(state.range(1)));
  std::vector<predict::Case> cases;
  for (std::size_t f = 0; f < e.universe.faults.size(); ++f) cases.push_back({{{fault::FaultId(f), 0.5}}});
  const std::vector<evidence::Observable> list = evidence::reader_list(e.loom, candidates::at_work(e.loom));
  double seconds = 0.0;
  for (auto _ : state) {
    seconds = fastest_s(1, [&] {
      predict::Campaign campaign(e.loom, e.netlist, e.universe);
      for (const predict::Case& one : cases) benchmark::DoNotOptimize(campaign.predict({one}, list));
    });
    state.SetIterationTime(seconds);
  }
  const double unit = factor_and_solve_s(e);
  state.counters["peer_factor_and_solve_per_s"] = 1.0 / unit;
  state.counters["faults"] = static_cast<double>(cases.size());
  state.counters["codes"] = static_cast<double>(e.loom.codes.size());
  state.counters["us_per_fault"] = seconds * 1.0e6 / static_cast<double>(cases.size());
  state.counters["ratio"] = seconds / unit;
  if (state.range(0) == 6) state.counters["goal_at_most"] = 200.0;
}
BENCHMARK(bus_codes)
    ->Args({2, 10})
    ->Args({4, 10})
    ->Args({6, 10})
    ->UseManualTime()
    ->Unit(benchmark::kMillisecond)
    ->Iterations(1);

}  // namespace
}  // namespace halfsplit::bench
