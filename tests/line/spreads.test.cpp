// SPDX-License-Identifier: Apache-2.0
// On a whole vehicle only the elements that matter are followed under a fault, one by one for the first readings, all
// laid out for the next: both against the move of every element added up.
#include <gtest/gtest.h>

#include <cmath>

#include "base/rng.h"
#include "candidates/generate.h"
#include "electrical/fault_bench.h"
#include "electrical/model.h"
#include "tests/support/fleet_loom.h"

namespace halfsplit {
namespace {

constexpr int kSpreadFaults = 40;
constexpr int kSpreadsEach = 24;
constexpr double kNoSpread = 1.0e-4;  // V: far below what any meter resolves

TEST(Spreads, OfAWholeVehicleAreThoseOfAllItsElements) {
  base::Result<test::ExampleLoom> loaded = test::load_fleet_loom(3000, 7);
  ASSERT_TRUE(loaded.ok());
  const test::ExampleLoom& e = loaded.value();
  std::vector<double> each;
  for (const circuit::Element& element : e.netlist.elements) each.push_back(element.tolerance);
  const electrical::Tolerances tolerance(each);
  electrical::FaultBench bench(electrical::make_model(e.loom, e.netlist, candidates::at_work(e.loom)),
                               e.loom.system_volts);
  base::Rng rng(20);
  std::size_t compared = 0;
  std::size_t far = 0;
  for (int i = 0; i < kSpreadFaults; ++i) {
    const fault::Fault& fault = e.universe.faults[rng.below(e.universe.faults.size())];
    bench.put_fault(fault::changes_of(e.netlist, fault, fault::severity_at(fault, rng.uniform())));
    if (bench.fault_status() != electrical::Status::kSettled) continue;
    double first = 0.0;
    for (int r = 0; r <= kSpreadsEach; ++r) {
      // The first once more at the end, when everything is laid out.
      base::Rng place(static_cast<std::uint64_t>(1000 * i + r % kSpreadsEach));
      const electrical::Functional volts{e.netlist.points[place.below(e.netlist.points.size())].node,
                                         e.netlist.points[place.below(e.netlist.points.size())].node, 0, false};
      if (volts.red == volts.black || !bench.together(volts.red, volts.black)) continue;
      const double sigma = bench.evaluate(volts, tolerance).sigma;
      double sum = 0.0;
      for (const double move : bench.moves(volts, tolerance)) sum += move * move;
      const double whole = std::sqrt(sum);
      if (r == 0) first = sigma;
      if (r == kSpreadsEach && first > 0.0) {
        EXPECT_NEAR(sigma / first, 1.0, 1.0e-6) << fault.name;
      }
      ++compared;
      if (std::abs(sigma - whole) > 0.05 * whole + kNoSpread) ++far;
    }
  }
  EXPECT_GT(compared, 500U);
  EXPECT_LE(far, compared / 100);
}

}  // namespace
}  // namespace halfsplit
