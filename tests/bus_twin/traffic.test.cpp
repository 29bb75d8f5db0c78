// SPDX-License-Identifier: Apache-2.0
// The rules of docs/formats/buses.md, "What becomes of the messages", against the bit-by-bit twin, class by class.
// HALFSPLIT_BUS_TWIN_TIMES plays that many times as many buses (the slow test: 12); the table is printed either way.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iomanip>
#include <iostream>

#include "tests/bus_twin/agreement.h"
#include "tests/bus_twin/fault_classes.h"

namespace halfsplit::bus_twin {
namespace {

std::size_t times() {
  const char* text = std::getenv("HALFSPLIT_BUS_TWIN_TIMES");
  return text == nullptr ? 1 : static_cast<std::size_t>(std::max(1, std::atoi(text)));
}

Agreement compare_and_print(const FaultClass& fault, std::size_t buses, std::uint64_t seed) {
  const Agreement agreement = compare(fault, buses * times(), 2, seed);
  std::cout << std::left << std::setw(28) << fault.name << std::right << agreement << "\n";
  return agreement;
}

double share(std::size_t part, std::size_t whole) {
  return static_cast<double>(part) / static_cast<double>(std::max<std::size_t>(whole, 1));
}

TEST(BusTwin, WhereTheRulesAreSureTheTwinAgreesOnEveryPair) {
  std::uint64_t seed = 100;
  for (const FaultClass& fault : fault_classes()) {
    ++seed;
    if (fault.kind != FaultClass::Kind::kSure) continue;
    SCOPED_TRACE(fault.name);
    const Agreement agreement = compare_and_print(fault, 2, seed);
    EXPECT_EQ(agreement.near, agreement.pairs);
    EXPECT_EQ(agreement.sure_wrong, 0U);
    EXPECT_EQ(agreement.busy_near, agreement.nodes);
  }
}

// One number for what comes and goes cannot follow every bus: priorities and phases decide. It may not lean far.
TEST(BusTwin, WhatComesAndGoesIsMetOnTheWhole) {
  std::uint64_t seed = 100;
  Agreement all;
  for (const FaultClass& fault : fault_classes()) {
    ++seed;
    if (fault.kind != FaultClass::Kind::kComesAndGoes) continue;
    SCOPED_TRACE(fault.name);
    const Agreement agreement = compare_and_print(fault, 4, seed);
    EXPECT_LE(share(agreement.sure_wrong, agreement.said_sure), 0.05);
    EXPECT_LT(std::abs(agreement.signed_sum) / static_cast<double>(agreement.pairs), 0.3);
    all.add(agreement);
  }
  EXPECT_LT(std::abs(all.signed_sum) / static_cast<double>(all.pairs), 0.1);
  EXPECT_LT(share(all.far, all.pairs), 0.06);
}

TEST(BusTwin, OnRandomBusesMostPairsAgree) {
  std::uint64_t seed = 100;
  for (const FaultClass& fault : fault_classes()) {
    ++seed;
    if (fault.kind != FaultClass::Kind::kRandom) continue;
    SCOPED_TRACE(fault.name);
    const Agreement agreement = compare_and_print(fault, 60, seed);
    EXPECT_GT(share(agreement.near, agreement.pairs), 0.7);
    EXPECT_LT(share(agreement.far, agreement.pairs), 0.08);
    EXPECT_LT(share(agreement.sure_wrong, agreement.said_sure), 0.02);
    EXPECT_LT(std::abs(agreement.signed_sum) / static_cast<double>(agreement.pairs), 0.08);
    EXPECT_GT(share(agreement.busy_near, agreement.nodes), 0.8);
  }
}

}  // namespace
}  // namespace halfsplit::bus_twin
