// SPDX-License-Identifier: Apache-2.0
// A full adder of five gates: X1 = xor(a,b) -> s. X2 = xor(s,c) -> sum. A1 = and(a,b) -> p. A2 = and(c,s) -> q.
// O1 = or(p,q) -> carry. a=1 b=0 c=1; seen sum=1, carry=0 (good: 0 and 1).
// Source: Reiter, "A Theory of Diagnosis from First Principles", Artificial Intelligence 32 (1987) 57-95, example 2.2
// (from memory); every number below recomputed by a separate program, by brute force.
#include <gtest/gtest.h>

#include <set>

#include "tests/diagnosis/logic_circuit.h"

namespace halfsplit::diagnosis {
namespace {

constexpr Mask kX1 = 1, kX2 = 2, kA1 = 4, kA2 = 8, kO1 = 16;
constexpr std::size_t kParts = 5;

Circuit adder() {
  // Nets: 0 a, 1 b, 2 c, 3 s, 4 sum, 5 p, 6 q, 7 carry. Outputs are looked at in the order of their names.
  Circuit circuit;
  circuit.gates = {{"X1", "xor", {0, 1}, 3},
                   {"X2", "xor", {3, 2}, 4},
                   {"A1", "and", {0, 1}, 5},
                   {"A2", "and", {2, 3}, 6},
                   {"O1", "or", {5, 6}, 7}};
  circuit.net_of = {{"i-a", 0}, {"i-b", 1}, {"i-c", 2}, {"o-1-sum", 4}, {"o-2-carry", 7}, {"o-3-s", 3}};
  circuit.nets = 8;
  return circuit;
}

const Values kSeen = {{"i-a", true}, {"i-b", false}, {"i-c", true}, {"o-1-sum", true}, {"o-2-carry", false}};

FaultSets believe(const Values& seen) {
  const Circuit circuit = adder();
  return weigh(all_sets(kParts), kParts, 0.01, seen.size() - 3,
               [&](Mask mask) { return explained_outputs(circuit, seen, mask); });
}

std::set<Mask> as_set(const std::vector<Mask>& masks) { return {masks.begin(), masks.end()}; }

TEST(FullAdder, Diagnoses) {
  const FaultSets sets = believe(kSeen);
  EXPECT_EQ(possible(sets).size(), 22U);
  EXPECT_EQ(as_set(minimal(sets)), (std::set<Mask>{kX1, kA2 | kX2, kO1 | kX2}));
}

TEST(FullAdder, PosteriorOfEachGate) {
  const std::vector<double> fault = believe(kSeen).posterior.fault;
  EXPECT_NEAR(fault[0], 0.980680, 6e-7);  // X1
  EXPECT_NEAR(fault[1], 0.029127, 6e-7);  // X2
  EXPECT_NEAR(fault[2], 0.010000, 6e-7);  // A1: untouched by the evidence, as before
  EXPECT_NEAR(fault[3], 0.019516, 6e-7);  // A2
  EXPECT_NEAR(fault[4], 0.019516, 6e-7);  // O1
}

TEST(FullAdder, MeasuringTheInnerWireDecides) {
  Values seen = kSeen;
  seen["o-3-s"] = false;
  EXPECT_EQ(as_set(minimal(believe(seen))), (std::set<Mask>{kX1}));
  seen["o-3-s"] = true;
  EXPECT_EQ(as_set(minimal(believe(seen))), (std::set<Mask>{kA2 | kX2, kO1 | kX2}));
}

}  // namespace
}  // namespace halfsplit::diagnosis
