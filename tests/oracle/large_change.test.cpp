// SPDX-License-Identifier: Apache-2.0
// One factorisation, many faults: the worked table of a five-resistor ladder in exact fractions. The method is Temes
// 1977 and the large-change sensitivity literature (attribution from memory); the numbers were worked out in fractions
// and equal a fresh solve (basis: computed). 10 V behind 10 ohm into n1; n1-n2 20; n2-n3 30; n3-ground 40; n2-ground 50
// ohm.
#include <gtest/gtest.h>

#include "electrical/fault_bench.h"
#include "tests/oracle/facts.h"

namespace halfsplit::oracle {
namespace {

using electrical::FaultBench;
using electrical::Instrument;
using electrical::Measured;
using electrical::Probe;
using fault::Change;

class LargeChange : public ::testing::Test {
 protected:
  Change set(const char* card, double ohm) const {
    Change change;
    change.element = circuit::ElementId(circuit_.branch(card));
    change.value = ohm;
    return change;
  }
  Change join(const char* a, const char* b, double ohm) const {
    Change change;
    change.kind = Change::Kind::kBranch;
    change.a = circuit_.node(a);
    change.b = circuit_.node(b);
    change.value = ohm;
    return change;
  }
  void expect(const std::vector<Change>& changes, const double (&volts)[3]) {
    bench_.put_fault(changes);
    electrical::Model faulted = circuit_.model;
    electrical::apply_changes(faulted, changes);
    const electrical::OperatingPoint fresh = electrical::solve_operating_point(faulted);
    for (std::size_t i = 0; i < 3; ++i) {
      const circuit::NodeId node = circuit_.node(std::to_string(i + 1));
      EXPECT_NEAR(bench_.volts(node) - bench_.volts(circuit_.node("0")), volts[i], 1.0e-6) << "v" << i + 1;
      EXPECT_NEAR(fresh.volts(node) - fresh.volts(circuit_.node("0")), volts[i], 1.0e-6) << "v" << i + 1 << ", fresh";
    }
  }

  CardCircuit circuit_{parse_cards("V1 9 0 10; R1 9 1 10; R2 1 2 20; R3 2 3 30; R4 3 0 40; R5 2 0 50")};
  FaultBench bench_{circuit_.model, 24.0};
};

TEST_F(LargeChange, EveryRowOfTheTable) {
  expect({}, {590.0 / 71, 350.0 / 71, 200.0 / 71});
  expect({set("R2", fault::kOpenOhm)}, {10.0, 0.0, 0.0});
  expect({set("R3", fault::kOpenOhm)}, {35.0 / 4, 25.0 / 4, 0.0});
  expect({set("R2", 120.0)}, {1790.0 / 191, 350.0 / 191, 200.0 / 191});
  expect({join("2", "0", 1.0)}, {7590.0 / 1121, 350.0 / 1121, 200.0 / 1121});
  expect({join("1", "3", 5.0)}, {3070.0 / 421, 2350.0 / 421, 2680.0 / 421});
}

// The trap: without the 50 ohm, n1-n2 and n3-ground open leave n2 and n3 with no path; the two-by-two matrix of the
// update is singular. It must be said as islands: no volts to ground, OL, and the two still 30 ohm apart.
TEST(LargeChangeTrap, APartCutOffIsAnIslandNotANumber) {
  const CardCircuit circuit(parse_cards("V1 9 0 10; R1 9 1 10; R2 1 2 20; R3 2 3 30; R4 3 0 40"));
  FaultBench bench(circuit.model, 24.0);
  std::vector<Change> changes(2);
  changes[0].element = circuit::ElementId(circuit.branch("R2"));
  changes[1].element = circuit::ElementId(circuit.branch("R4"));
  changes[0].value = changes[1].value = fault::kOpenOhm;
  bench.put_fault(changes);
  ASSERT_EQ(bench.fault_status(), electrical::Status::kSettled);
  EXPECT_FALSE(bench.together(circuit.node("2"), circuit.node("0")));
  EXPECT_FALSE(bench.together(circuit.node("3"), circuit.node("1")));
  EXPECT_TRUE(bench.together(circuit.node("2"), circuit.node("3")));
  electrical::Model faulted = circuit.model;
  electrical::apply_changes(faulted, changes);
  const auto both = [&](Instrument instrument, const char* red, const char* black) {
    const Probe probe{instrument, circuit.node(red), circuit.node(black), 0};
    const Measured fast = bench.read(probe, {}).measured;
    const Measured slow = electrical::measure(faulted, probe, 24.0);
    EXPECT_EQ(fast.over_range, slow.over_range);
    EXPECT_NEAR(fast.value, slow.value, 1.0e-9);
    return fast;
  };
  EXPECT_NEAR(both(Instrument::kVolts, "2", "0").value, 0.0, 1.0e-9);
  EXPECT_NEAR(both(Instrument::kVolts, "1", "0").value, 10.0, 1.0e-4);
  EXPECT_TRUE(both(Instrument::kOhms, "2", "0").over_range);
  EXPECT_NEAR(both(Instrument::kOhms, "2", "3").value, 30.0, 1.0e-6);
}

}  // namespace
}  // namespace halfsplit::oracle
