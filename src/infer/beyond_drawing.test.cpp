// SPDX-License-Identifier: Apache-2.0
#include "infer/beyond_drawing.h"

#include <gtest/gtest.h>

#include <cmath>

#include "infer/likelihood.h"
#include "infer/test_tables.h"

namespace halfsplit::infer {
namespace {

using evidence::Kind;

const Noise kNoise;

// Of tests of their own: 24 V is in order.
struct Outside {
  void read(double volts) {
    readings.push_back(test::saw(Kind::kVolts, volts));
    cells.assign(readings.size(), &healthy);
  }
  BeyondDrawing weigh() const { return weigh_beyond_drawing(cells, readings, kNoise); }
  double sum() const {
    double sum = 0.0;
    for (const double one : weigh().log_likelihoods) sum += one;
    return sum;
  }

  evidence::Prediction healthy = test::number(24.0, 0.3);
  std::vector<Reading> readings;
  std::vector<const evidence::Prediction*> cells;
};

TEST(BeyondDrawing, ALongRowOfHealthyReadingsCostsItLittle) {
  Outside vehicle;
  vehicle.read(3.0);
  const double sign = vehicle.sum();
  double in_order = 0.0;  // the same for a fault that moves nothing else
  for (int i = 0; i < 12; ++i) {
    vehicle.read(24.0);
    in_order += log_likelihood(vehicle.healthy, Neighbours{}, vehicle.readings.back(), kNoise);
  }
  EXPECT_GT(vehicle.sum() - sign - in_order, std::log(0.03));  // one by one: 0.5 to the 12th, 0.0002
  EXPECT_GT(vehicle.weigh().healthy, 0.85);
}

TEST(BeyondDrawing, WhatDisturbsMuchIsExpectedToDisturbMore) {
  Outside vehicle;
  for (const double volts : {3.0, 9.0, 17.0, 1.0, 13.0, 5.0, 11.0, 7.0}) vehicle.read(volts);
  EXPECT_LT(vehicle.weigh().healthy, 0.25);
}

TEST(BeyondDrawing, OneReadingIsTheAverageOfTheShares) {
  Outside vehicle;
  vehicle.read(24.0);
  double expected = 0.0;
  for (const double disturbed : {0.05, 0.2, 0.5, 0.9}) {
    Noise noise;
    noise.healthy_beyond_drawing = 1.0 - disturbed;
    expected += 0.25 * std::exp(log_likelihood_beyond_drawing(vehicle.healthy, vehicle.readings[0], noise));
  }
  EXPECT_NEAR(vehicle.sum(), std::log(expected), 1.0e-12);
}

// In whatever order they are read.
TEST(BeyondDrawing, TheOrderHasNoSay) {
  Outside one;
  Outside other;
  for (const double volts : {3.0, 24.0, 24.1, 12.0, 23.8}) one.read(volts);
  for (const double volts : {23.8, 12.0, 24.0, 3.0, 24.1}) other.read(volts);
  EXPECT_NEAR(one.sum(), other.sum(), 1.0e-9);
  EXPECT_NEAR(one.weigh().healthy, other.weigh().healthy, 1.0e-9);
}

}  // namespace
}  // namespace halfsplit::infer
