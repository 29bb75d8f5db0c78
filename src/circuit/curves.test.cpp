// SPDX-License-Identifier: Apache-2.0
// Curves, thermistors and copper by hand-worked numbers (the tables of others: tests/oracle/conductors.test.cpp).
#include <gtest/gtest.h>

#include <cmath>

#include "circuit/test_loom.h"

namespace halfsplit::circuit {
namespace {

using test::LoomMaker;

const Curve kFalling{{{0.0, 180.0}, {50.0, 80.0}, {100.0, 10.0}}};

TEST(Curve, IsLinearBetweenItsPointsAndHeldAtItsEnds) {
  EXPECT_DOUBLE_EQ(curve_value(kFalling, 25.0), 130.0);
  EXPECT_DOUBLE_EQ(curve_value(kFalling, 50.0), 80.0);
  EXPECT_DOUBLE_EQ(curve_value(kFalling, 75.0), 45.0);
  EXPECT_DOUBLE_EQ(curve_value(kFalling, -10.0), 180.0);
  EXPECT_DOUBLE_EQ(curve_value(kFalling, 200.0), 10.0);
  EXPECT_DOUBLE_EQ(curve_value({}, 5.0), 0.0);
}

TEST(Curve, InverseUndoesItAndSaysNoOutside) {
  for (const double x : {0.0, 10.0, 50.0, 99.0, 100.0})
    EXPECT_NEAR(curve_inverse(kFalling, curve_value(kFalling, x)).value(), x, 1.0e-9);
  EXPECT_FALSE(curve_inverse(kFalling, 181.0).has_value());
  EXPECT_FALSE(curve_inverse(kFalling, 9.9).has_value());
  EXPECT_DOUBLE_EQ(curve_inverse({{{0.0, 5.0}, {10.0, 5.0}}}, 5.0).value(), 0.0) << "flat: its beginning";
}

// R = r25 * exp(b * (1/T - 1/298.15)), T in kelvin.
TEST(Thermistor, FollowsItsBeta) {
  LoomMaker m;
  const auto ohm = [&](PartKind kind, double beta, double celsius) {
    return sensor_ohm(m.loom.parts[m.part(kind, "B", {{"r25_ohm", 2000.0}, {"b_k", beta}, {"at", celsius}}).index()]);
  };
  EXPECT_DOUBLE_EQ(ohm(PartKind::kNtc, 3500.0, 25.0), 2000.0);
  EXPECT_NEAR(ohm(PartKind::kNtc, 3500.0, 85.0), 2000.0 * std::exp(3500.0 * (1.0 / 358.15 - 1.0 / 298.15)), 1.0e-9);
  EXPECT_GT(ohm(PartKind::kPtc, -700.0, 85.0), 2000.0);
}

TEST(Thermistor, SaysNoTemperatureForWhatNoThermistorShows) {
  LoomMaker m;
  const Part& part =
      m.loom.parts[m.part(PartKind::kNtc, "B", {{"r25_ohm", 2000.0}, {"b_k", 3500.0}, {"at", 25.0}}).index()];
  EXPECT_NEAR(sensor_value(part, 2000.0).value(), 25.0, 1.0e-9);
  EXPECT_FALSE(sensor_value(part, 0.0).has_value());
  EXPECT_FALSE(sensor_value(part, -3.0).has_value());
  EXPECT_FALSE(sensor_value(part, 1.0e12).has_value());
}

TEST(Sender, TakesItsCurveAndNeverNothing) {
  LoomMaker m;
  Part& part = m.loom.parts[m.part(PartKind::kSender, "B", {{"at", 100.0}}).index()];
  part.curve.points = {{0.0, 180.0}, {100.0, 0.0}};
  EXPECT_DOUBLE_EQ(sensor_ohm(part), 0.01);
  EXPECT_NEAR(sensor_value(part, 90.0).value(), 50.0, 1.0e-9);
}

TEST(Copper, OfOneSquareMillimetreAndOneMetre) {
  EXPECT_DOUBLE_EQ(copper_ohm(1.0, 1.0, 20.0), 0.017241);
  EXPECT_DOUBLE_EQ(copper_ohm(2.0, 10.0, 20.0), 0.086205);
  EXPECT_NEAR(copper_ohm(1.0, 1.0, 120.0) / copper_ohm(1.0, 1.0, 20.0), 1.393, 1.0e-12);
}

}  // namespace
}  // namespace halfsplit::circuit
