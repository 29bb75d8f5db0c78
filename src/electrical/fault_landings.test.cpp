// SPDX-License-Identifier: Apache-2.0
// A fault that is put in again stands where it stood before, to the last bit.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "electrical/fault_bench.h"
#include "electrical/random_circuit.h"

namespace halfsplit::electrical {
namespace {

using fault::Change;

struct Shown {
  Status status = Status::kSettled;
  States states;
  std::uint32_t print = 0;
  std::vector<StateRef> near;
  std::vector<double> volts;  // by node
  std::vector<Predicted> readings;
};

Shown look(FaultBench& bench, const std::vector<Change>& changes, const std::vector<Probe>& probes,
           const Tolerances& tolerance) {
  bench.put_fault(changes);
  Shown shown{bench.fault_status(), bench.states(), bench.print(), bench.near_states(), {}, {}};
  for (std::size_t n = 0; n < bench.model().nodes; ++n) shown.volts.push_back(bench.volts(NodeId(n)));
  for (const Probe& probe : probes) shown.readings.push_back(bench.read(probe, tolerance));
  return shown;
}

void expect_near(double a, double b) { EXPECT_NEAR(a, b, 1.0e-8 * std::max(1.0, std::abs(b))); }

void expect_same(const Shown& first, const Shown& again) {
  ASSERT_EQ(first.status, again.status);
  if (first.status != Status::kSettled) return;
  EXPECT_TRUE(first.states == again.states);
  EXPECT_EQ(first.states.gone, again.states.gone);
  EXPECT_EQ(first.print, again.print);
  EXPECT_EQ(first.near, again.near);
  EXPECT_EQ(first.volts, again.volts);
  // What a meter does is kept from one reading to the next, and has a say in the last digits.
  for (std::size_t i = 0; i < first.readings.size(); ++i) {
    EXPECT_EQ(first.readings[i].measured.settled, again.readings[i].measured.settled) << "reading " << i;
    ASSERT_EQ(first.readings[i].measured.over_range, again.readings[i].measured.over_range) << "reading " << i;
    expect_near(first.readings[i].measured.value, again.readings[i].measured.value);
    expect_near(first.readings[i].sigma, again.readings[i].sigma);
  }
}

TEST(FaultLandings, AFaultPutInAgainStandsTheSameToTheLastBit) {
  std::size_t landed = 0;
  for (std::uint64_t seed = 1; seed <= 80; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    const RandomCircuit circuit = make_random_circuit(rng);
    const Tolerances tolerance(std::vector<double>(circuit.model.branches.size(), 0.02));
    std::vector<std::vector<Change>> faults;
    for (int i = 0; i < 12; ++i) faults.push_back(make_random_changes(rng, circuit));
    std::vector<Probe> probes;
    for (int i = 0; i < 6; ++i) probes.push_back(make_random_probe(rng, circuit));
    FaultBench bench(circuit.model, 24.0);
    bench.remember_landings();
    bench.expect(tolerance);
    std::vector<Shown> first;
    for (const std::vector<Change>& changes : faults) first.push_back(look(bench, changes, probes, tolerance));
    for (std::size_t i = 0; i < faults.size(); ++i) {
      SCOPED_TRACE("fault " + std::to_string(i));
      bench.clear();
      expect_same(first[i], look(bench, faults[i], probes, tolerance));
    }
    landed += bench.counts().landed;
  }
  EXPECT_GT(landed, 100U);
}

// Without what is remembered the answers are the same within a meter's digit: it says where a fault stands, not how.
TEST(FaultLandings, ABenchThatRemembersReadsAsOneThatDoesNot) {
  std::size_t compared = 0;
  for (std::uint64_t seed = 101; seed <= 160; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    const RandomCircuit circuit = make_random_circuit(rng);
    FaultBench remembers(circuit.model, 24.0);
    remembers.remember_landings();
    FaultBench forgets(circuit.model, 24.0);
    for (int i = 0; i < 12; ++i) {
      const std::vector<Change> changes = make_random_changes(rng, circuit);
      const std::vector<Probe> probes{make_random_probe(rng, circuit), make_random_probe(rng, circuit)};
      const Shown other = look(forgets, changes, probes, {});
      for (int time = 0; time < 2; ++time) {
        remembers.clear();
        const Shown shown = look(remembers, changes, probes, {});
        ASSERT_EQ(shown.status, other.status);
        if (shown.status != Status::kSettled) continue;
        EXPECT_EQ(shown.states.on, other.states.on);
        EXPECT_EQ(shown.states.alive, other.states.alive);
        for (std::size_t k = 0; k < probes.size(); ++k) {
          const Measured& a = shown.readings[k].measured;
          const Measured& b = other.readings[k].measured;
          ASSERT_EQ(a.over_range, b.over_range);
          if (a.over_range) continue;
          EXPECT_NEAR(a.value, b.value, std::max(1.0e-6, 1.0e-6 * std::abs(b.value)));
          ++compared;
        }
      }
    }
  }
  EXPECT_GT(compared, 1500U);
}

}  // namespace
}  // namespace halfsplit::electrical
