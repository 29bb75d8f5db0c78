// SPDX-License-Identifier: Apache-2.0
// How fast the table of faults by tests fills: a new campaign each time, many single faults by many voltmeter tests in
// the state at work, factorising and building counted. Peer, in the same run: ngspice in the same process, one
// operating point for each fault, its circuit loaded and its states settled beforehand.
// Goal at 3,000 nodes: 10,000 entries in the time of one operating point.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <iterator>

#include "base/rng.h"
#include "candidates/generate.h"
#include "predict/campaign.h"
#include "tests/speed/peers.h"
#include "tests/support/fleet_loom.h"

namespace halfsplit::bench {
namespace {

struct Size {
  std::size_t nodes, faults, tests;
  int operating_points;
};
constexpr Size kSizes[] = {{300, 1000, 100, 300}, {3000, 4000, 250, 60}, {30000, 4000, 250, 3}};

std::vector<predict::Case> some_faults(const test::ExampleLoom& e, std::size_t count, base::Rng& rng) {
  std::vector<predict::Case> cases;
  for (std::size_t i = 0; i < count; ++i)
    cases.push_back({{{fault::FaultId(rng.below(e.universe.faults.size())), rng.uniform()}}});
  return cases;
}

// Volts at points of the vehicle against points near and far, as a technician would take them.
std::vector<evidence::Observable> some_tests(const test::ExampleLoom& e, std::size_t count, base::Rng& rng) {
  std::vector<evidence::Observable> tests;
  const circuit::PointId minus = *circuit::find_point(e.netlist, "BAT:-");
  while (tests.size() < count) {
    evidence::Observable what;
    what.kind = evidence::Kind::kVolts;
    what.red = circuit::PointId(rng.below(e.netlist.points.size()));
    what.black = rng.chance(0.5) ? minus : circuit::PointId(rng.below(e.netlist.points.size()));
    what.configuration = candidates::at_work(e.loom);
    if (what.red != what.black) tests.push_back(what);
  }
  return tests;
}

void fault_by_test(benchmark::State& state) {
  const Size size = *std::find_if(std::begin(kSizes), std::end(kSizes),
                                  [&](const Size& s) { return s.nodes == static_cast<std::size_t>(state.range(0)); });
  const test::ExampleLoom e = test::load_fleet_loom(size.nodes, 7).value();
  base::Rng rng(size.nodes);
  const std::vector<predict::Case> cases = some_faults(e, size.faults, rng);
  const std::vector<evidence::Observable> tests = some_tests(e, size.tests, rng);
  double seconds = 0.0;
  for (auto _ : state) {
    const double took = fastest_s(1, [&] {
      predict::Campaign campaign(e.loom, e.netlist, e.universe);
      benchmark::DoNotOptimize(campaign.predict(cases, tests));
    });
    state.SetIterationTime(took);
    seconds = seconds == 0.0 ? took : std::min(seconds, took);
  }
  const double entries = static_cast<double>(size.faults * size.tests);
  const double peer = ngspice_operating_point_s(e, size.operating_points);
  state.counters["entries_per_s"] = entries / seconds;
  state.counters["peer_ngspice_op_per_s"] = peer > 0.0 ? 1.0 / peer : 0.0;
  state.counters["faults_per_op"] = peer * static_cast<double>(size.faults) / seconds;
  state.counters["ratio"] = peer * entries / seconds;
  if (size.nodes == 3000) state.counters["goal_at_least"] = 10000.0;
}
BENCHMARK(fault_by_test)
    ->Arg(300)
    ->Arg(3000)
    ->Arg(30000)
    ->UseManualTime()
    ->Unit(benchmark::kMillisecond)
    ->Iterations(1);

}  // namespace
}  // namespace halfsplit::bench
