// SPDX-License-Identifier: Apache-2.0
// Meters as a common handheld shows things (common practice; the rules are at the head of meter.h), on circuits small
// enough to work out by hand.
#include "electrical/meter.h"

#include <gtest/gtest.h>

#include <cmath>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {
namespace {

using circuit::ElementKind;

struct Bench {
  std::vector<circuit::ModuleWiring> none;
  Model model;
  explicit Bench(std::size_t nodes) {
    model.nodes = nodes;
    model.modules = &none;
  }
  Branch& add(ElementKind kind, std::size_t a, std::size_t b, double ohm, double volt = 0.0) {
    model.branches.emplace_back();
    Branch& branch = model.branches.back();
    branch.kind = kind;
    branch.a = NodeId(a);
    branch.b = NodeId(b);
    branch.ohm = ohm;
    branch.volt = volt;
    return branch;
  }
  // Both paths; they must agree.
  Measured read(Instrument instrument, std::size_t red, std::size_t black, std::size_t branch = 0) const {
    const Probe probe{instrument, NodeId(red), NodeId(black), branch};
    const Measured slow = measure(model, probe, 24.0);
    FaultBench bench(model, 24.0);
    const Measured fast = bench.read(probe, {}).measured;
    EXPECT_EQ(slow.settled, fast.settled);
    EXPECT_EQ(slow.over_range, fast.over_range);
    EXPECT_NEAR(slow.value, fast.value, 1.0e-9 + 1.0e-9 * std::abs(slow.value));
    return slow;
  }
};

TEST(Voltmeter, HasTenMegohmAndASign) {
  Bench b(3);
  b.add(ElementKind::kSource, 0, 1, 0.0, 24.0);
  b.add(ElementKind::kResistor, 0, 2, 1.0e7);
  EXPECT_NEAR(b.read(Instrument::kVolts, 2, 1).value, 12.0, 1.0e-9);
  EXPECT_NEAR(b.read(Instrument::kVolts, 1, 2).value, -12.0, 1.0e-9);
  EXPECT_EQ(b.read(Instrument::kVolts, 2, 2).value, 0.0);
}

TEST(Voltmeter, ReadsNothingBetweenIslands) {
  Bench b(4);
  b.add(ElementKind::kSource, 0, 1, 0.1, 24.0);
  b.add(ElementKind::kSource, 2, 3, 0.1, 24.0);
  EXPECT_NEAR(b.read(Instrument::kVolts, 0, 3).value, 0.0, 1.0e-9);
  EXPECT_NEAR(b.read(Instrument::kVolts, 2, 1).value, 0.0, 1.0e-9);
}

TEST(Ohmmeter, ReadsEveryRangeUpToSixtyMegohm) {
  for (const double ohm : {0.0, 0.05, 47.0, 599.9, 600.1, 4700.0, 1.0e6, 5.9e7}) {
    Bench b(2);
    b.add(ElementKind::kResistor, 0, 1, ohm);
    const Measured read = b.read(Instrument::kOhms, 0, 1);
    EXPECT_FALSE(read.over_range) << ohm;
    EXPECT_NEAR(read.value, ohm, 1.0e-9 * ohm + 1.0e-9);
  }
  Bench above(2);
  above.add(ElementKind::kResistor, 0, 1, 6.1e7);
  EXPECT_TRUE(above.read(Instrument::kOhms, 0, 1).over_range);
}

TEST(Ohmmeter, ShowsOlBetweenIslandsAndNothingOfALiveCircuit) {
  Bench b(3);
  b.add(ElementKind::kSource, 0, 1, 1.0, 24.0);
  EXPECT_TRUE(b.read(Instrument::kOhms, 0, 2).over_range) << "nothing joins them";
  EXPECT_TRUE(b.read(Instrument::kOhms, 0, 1).over_range) << "24 V between the probes";
}

TEST(Ohmmeter, ToleratesFiftyMillivoltsBetweenTheProbes) {
  for (const double volts : {0.049, 0.051}) {
    Bench b(2);
    b.add(ElementKind::kSource, 0, 1, 100.0, volts);
    EXPECT_EQ(b.read(Instrument::kOhms, 0, 1).over_range, volts > kLiveVolt) << volts;
  }
}

// 0.6 V at the top of a range does not open a diode of 0.7 V: what stands beside it is read alone, both ways round.
TEST(Ohmmeter, DoesNotOpenADiode) {
  Bench b(2);
  b.add(ElementKind::kDiode, 0, 1, 0.05, 0.7);
  b.add(ElementKind::kResistor, 0, 1, 1000.0);
  EXPECT_NEAR(b.read(Instrument::kOhms, 0, 1).value, 1000.0, 1.0e-6);
  EXPECT_NEAR(b.read(Instrument::kOhms, 1, 0).value, 1000.0, 1.0e-6);
}

// A filament is cold under an ohmmeter: a twelfth of its hot 27.4 ohm (common practice 1/10 to 1/15).
TEST(Ohmmeter, SeesAColdFilament) {
  Bench b(2);
  b.add(ElementKind::kLamp, 0, 1, 24.0 * 24.0 / 21.0, 24.0);
  EXPECT_NEAR(b.read(Instrument::kOhms, 0, 1).value, 24.0 * 24.0 / 21.0 / 12.0, 0.03);
}

TEST(Clamp, ReadsTheBranchFromItsFirstNodeToItsSecond) {
  Bench b(2);
  b.add(ElementKind::kSource, 0, 1, 0.0, 24.0);
  b.add(ElementKind::kResistor, 0, 1, 12.0);
  EXPECT_NEAR(b.read(Instrument::kClamp, 0, 0, 1).value, 2.0, 1.0e-12);
  EXPECT_NEAR(b.read(Instrument::kClamp, 0, 0, 0).value, -2.0, 1.0e-12);
}

TEST(TestLamp, LoadsAFeedWithItsFiveWatts) {
  Bench b(2);
  b.add(ElementKind::kSource, 0, 1, 0.0, 24.0);
  EXPECT_NEAR(b.read(Instrument::kTestLamp, 0, 1).value, 24.0, 1.0e-9);
  Bench weak(2);
  weak.add(ElementKind::kSource, 0, 1, 115.2, 24.0);  // as many ohms as the lamp has when hot
  const double volts = weak.read(Instrument::kTestLamp, 0, 1).value;
  EXPECT_LT(volts, 12.0) << "a dim filament has fewer ohms";
  EXPECT_GT(volts, 5.0);
}

TEST(Accuracy, IsPercentAndCountsOfTheRange) {
  EXPECT_DOUBLE_EQ(meter_sigma(Instrument::kVolts, 25.0) * 3.0, 0.005 * 25.0 + 2 * 0.01);
  EXPECT_DOUBLE_EQ(meter_sigma(Instrument::kVolts, -25.0), meter_sigma(Instrument::kVolts, 25.0));
  EXPECT_DOUBLE_EQ(meter_sigma(Instrument::kOhms, 60.0) * 3.0, 0.009 * 60.0 + 3 * 0.1);
  EXPECT_DOUBLE_EQ(meter_sigma(Instrument::kOhms, 4700.0) * 3.0, 0.009 * 4700.0 + 3 * 1.0);
  EXPECT_DOUBLE_EQ(meter_sigma(Instrument::kClamp, 10.0) * 3.0, 0.02 * 10.0 + 5 * 0.01);
  EXPECT_EQ(meter_sigma(Instrument::kTestLamp, 24.0), 0.0);
}

TEST(Display, RoundsToTheDigitOfItsRange) {
  EXPECT_NEAR(displayed(Instrument::kVolts, 24.1234), 24.12, 1.0e-12);
  EXPECT_NEAR(displayed(Instrument::kVolts, 4.12345), 4.123, 1.0e-12);
  EXPECT_NEAR(displayed(Instrument::kVolts, 0.123456), 0.1235, 1.0e-12);
  EXPECT_NEAR(displayed(Instrument::kOhms, 59.88), 59.9, 1.0e-12);
  EXPECT_NEAR(displayed(Instrument::kOhms, 4712.3), 4712.0, 1.0e-9);
  EXPECT_NEAR(displayed(Instrument::kClamp, 1.2345), 1.23, 1.0e-12);
}

}  // namespace
}  // namespace halfsplit::electrical
