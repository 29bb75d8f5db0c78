// SPDX-License-Identifier: Apache-2.0
// The slow path by itself: what must not matter (order, names), what must be said (islands, singular, residual). The
// properties are those that users of circuit simulators miss most.
#include "electrical/operating_point.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "electrical/fault_bench.h"
#include "electrical/random_circuit.h"

namespace halfsplit::electrical {
namespace {

using circuit::ElementKind;

std::vector<circuit::ModuleWiring> no_modules;

Branch branch_of(ElementKind kind, std::size_t a, std::size_t b, double ohm, double volt = 0.0) {
  Branch branch;
  branch.kind = kind;
  branch.a = NodeId(a);
  branch.b = NodeId(b);
  branch.ohm = ohm;
  branch.volt = volt;
  return branch;
}

Model model_of(std::size_t nodes, std::vector<Branch> branches) {
  Model model;
  model.nodes = nodes;
  model.branches = std::move(branches);
  model.modules = &no_modules;
  return model;
}

std::vector<std::size_t> shuffled(base::Rng& rng, std::size_t count) {
  std::vector<std::size_t> order(count);
  std::iota(order.begin(), order.end(), std::size_t{0});
  for (std::size_t i = count; i-- > 1;) std::swap(order[i], order[rng.below(i + 1)]);
  return order;
}

// A circuit with its nodes renamed and its branches in another order.
struct Renamed {
  RandomCircuit circuit;
  std::vector<std::size_t> node, branch;  // old index -> new index
  Renamed(base::Rng& rng, const RandomCircuit& from)
      : node(shuffled(rng, from.model.nodes)), branch(shuffled(rng, from.model.branches.size())) {
    const auto move = [&](NodeId& id) {
      if (!id.is_none()) id = NodeId(node[id.index()]);
    };
    circuit.modules = std::make_shared<std::vector<circuit::ModuleWiring>>(*from.modules);
    for (circuit::ModuleWiring& wiring : *circuit.modules) move(wiring.supply), move(wiring.ground);
    circuit.model = from.model;
    circuit.model.modules = circuit.modules.get();
    for (std::size_t i = 0; i < branch.size(); ++i) {
      Branch b = from.model.branches[i];
      move(b.a), move(b.b), move(b.c), move(b.d);
      if (b.kind == ElementKind::kRelayContact) b.control = static_cast<std::uint32_t>(branch[b.control]);
      circuit.model.branches[branch[i]] = b;
    }
  }
};

TEST(OperatingPoint, NamesAndOrderOfPartsDoNotMatter) {
  std::size_t compared = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    base::Rng rng(seed);
    const RandomCircuit circuit = make_random_circuit(rng);
    const Renamed other(rng, circuit);
    const OperatingPoint one = solve_operating_point(circuit.model);
    const OperatingPoint two = solve_operating_point(other.circuit.model);
    ASSERT_EQ(one.status, two.status) << "seed " << seed;
    if (one.status != Status::kSettled) continue;
    for (std::size_t i = 0; i < other.branch.size(); ++i) {
      const double amperes = one.amperes(i);
      EXPECT_NEAR(amperes, two.amperes(other.branch[i]), 1.0e-9 + 1.0e-9 * std::abs(amperes))
          << "seed " << seed << " branch " << i;
      ++compared;
    }
    for (int reading = 0; reading < 5; ++reading) {
      const Probe probe = make_random_probe(rng, circuit);
      const Probe same{probe.instrument, NodeId(other.node[probe.red.index()]), NodeId(other.node[probe.black.index()]),
                       other.branch[probe.branch]};
      const Measured a = measure(circuit.model, probe, 24.0);
      const Measured b = measure(other.circuit.model, same, 24.0);
      EXPECT_EQ(a.over_range, b.over_range) << "seed " << seed;
      EXPECT_NEAR(a.value, b.value, 1.0e-6 + 1.0e-8 * std::abs(a.value)) << "seed " << seed;
    }
  }
  EXPECT_GT(compared, 1500U);
}

TEST(OperatingPoint, TheOrderOfPartsInARowDoesNotMatter) {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    base::Rng rng(seed);
    const std::size_t parts = 2 + rng.below(8);
    std::vector<double> ohms;
    for (std::size_t i = 0; i < parts; ++i) ohms.push_back(rng.log_uniform(0.001, 1.0e6));
    const auto amperes = [&](const std::vector<std::size_t>& order) {
      std::vector<Branch> row{branch_of(ElementKind::kSource, 0, parts, 0.01, 24.0)};
      for (std::size_t i = 0; i < parts; ++i)
        row.push_back(branch_of(ElementKind::kResistor, i, i + 1, ohms[order[i]]));
      return solve_operating_point(model_of(parts + 1, row)).amperes(1);
    };
    const double expected = 24.0 / (0.01 + std::accumulate(ohms.begin(), ohms.end(), 0.0));
    for (int again = 0; again < 3; ++again)
      EXPECT_NEAR(amperes(shuffled(rng, parts)) / expected, 1.0, 1.0e-12) << "seed " << seed;
  }
}

TEST(OperatingPoint, TheSameInputGivesTheSameBits) {
  base::Rng rng(7);
  const RandomCircuit circuit = make_random_circuit(rng);
  EXPECT_EQ(solve_operating_point(circuit.model).x, solve_operating_point(circuit.model).x);
}

TEST(OperatingPoint, KirchhoffHoldsToTheLastDigits) {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    base::Rng rng(seed);
    const RandomCircuit circuit = make_random_circuit(rng);
    const OperatingPoint point = solve_operating_point(circuit.model);
    if (point.status != Status::kSettled) continue;
    EXPECT_LT(point.residual, 1.0e-9) << "seed " << seed;
    std::vector<double> sum(circuit.model.nodes, 0.0);
    for (std::size_t i = 0; i < circuit.model.branches.size(); ++i) {
      sum[circuit.model.branches[i].a.index()] += point.amperes(i);
      sum[circuit.model.branches[i].b.index()] -= point.amperes(i);
    }
    for (const double amperes : sum) EXPECT_NEAR(amperes, 0.0, 1.0e-9) << "seed " << seed;
  }
}

// Ideal sources side by side: no currents follow, so no numbers are given.
TEST(OperatingPoint, TwoIdealSourcesInParallelAreSingularNotNumbers) {
  for (const double other : {24.0, 12.0}) {
    const Model model =
        model_of(2, {branch_of(ElementKind::kSource, 0, 1, 0.0, 24.0),
                     branch_of(ElementKind::kSource, 0, 1, 0.0, other), branch_of(ElementKind::kResistor, 0, 1, 10.0)});
    EXPECT_EQ(solve_operating_point(model).status, Status::kSingular) << other;
    FaultBench bench(model, 24.0);
    EXPECT_EQ(bench.status(), Status::kSingular);
    for (const Instrument instrument :
         {Instrument::kVolts, Instrument::kOhms, Instrument::kClamp, Instrument::kTestLamp}) {
      const Probe probe{instrument, NodeId(0), NodeId(1), 2};
      EXPECT_FALSE(measure(model, probe, 24.0).settled);
      EXPECT_FALSE(bench.read(probe, {}).measured.settled);
    }
  }
}

TEST(OperatingPoint, AFaultThatMakesItSingularIsSaidAndGoesAgain) {
  const Model model =
      model_of(2, {branch_of(ElementKind::kSource, 0, 1, 0.0, 24.0), branch_of(ElementKind::kResistor, 0, 1, 10.0)});
  FaultBench bench(model, 24.0);
  fault::Change change;
  change.element = ElementId(1);
  change.value = 0.0;  // an ideal short across an ideal source
  bench.put_fault({change});
  EXPECT_NE(bench.fault_status(), Status::kSettled);
  bench.clear();
  EXPECT_EQ(bench.fault_status(), Status::kSettled);
  EXPECT_NEAR(bench.amperes(1), 2.4, 1.0e-12);
}

TEST(OperatingPoint, IslandsAreSolvedApart) {
  const OperatingPoint point = solve_operating_point(
      model_of(5, {branch_of(ElementKind::kSource, 0, 1, 1.0, 24.0), branch_of(ElementKind::kResistor, 0, 1, 23.0),
                   branch_of(ElementKind::kResistor, 2, 3, 5.0)}));
  ASSERT_EQ(point.status, Status::kSettled);
  EXPECT_TRUE(point.islands.together(NodeId(0), NodeId(1)));
  EXPECT_FALSE(point.islands.together(NodeId(1), NodeId(2)));
  EXPECT_FALSE(point.islands.together(NodeId(3), NodeId(4)));
  EXPECT_EQ(point.layout.ties.size(), 3U);
  EXPECT_NEAR(point.amperes(1), 1.0, 1.0e-12);
  EXPECT_NEAR(point.volts(NodeId(2)) - point.volts(NodeId(3)), 0.0, 1.0e-15);
}

TEST(OperatingPoint, AnEmptyCircuitSettles) {
  EXPECT_EQ(solve_operating_point(model_of(0, {})).status, Status::kSettled);
  EXPECT_EQ(solve_operating_point(model_of(3, {})).status, Status::kSettled);
}

}  // namespace
}  // namespace halfsplit::electrical
