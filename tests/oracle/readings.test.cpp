// SPDX-License-Identifier: Apache-2.0
// Our readings against ngspice: random looms, every fault of the page by what it sits on, with a random severity,
// random states of the vehicle, random meters. A share runs in every test run; the whole of it is
//     ./dev test -C slow -L slow
// HALFSPLIT_ORACLE_LOOMS says how many looms, HALFSPLIT_ORACLE_SEED which is the first (1), HALFSPLIT_ORACLE_SHOW=1
// prints the circuit of a difference as SPICE text.
#include <gtest/gtest.h>

#include <cstdlib>
#include <iostream>

#include "tests/oracle/comparison.h"

namespace halfsplit::oracle {
namespace {

constexpr std::uint64_t kLooms = 150;    // of every test run
constexpr std::uint64_t kEnough = 2000;  // to have met everything

std::uint64_t looms_wanted(const char* name, std::uint64_t fallback) {
  const char* text = std::getenv(name);
  return text != nullptr ? std::strtoull(text, nullptr, 10) : fallback;
}

TEST(Readings, EqualThoseOfNgspiceOnRandomLooms) {
  Ngspice* spice = Ngspice::instance();
  if (spice == nullptr) GTEST_SKIP() << "libngspice0-dev was not there when this was built: NOTHING WAS COMPARED";
  const std::uint64_t first = looms_wanted("HALFSPLIT_ORACLE_SEED", 1);
  const std::uint64_t looms = looms_wanted("HALFSPLIT_ORACLE_LOOMS", kLooms);
  const bool show = std::getenv("HALFSPLIT_ORACLE_SHOW") != nullptr;
  Tally tally;
  for (std::uint64_t seed = first; seed < first + looms; ++seed) Comparison(*spice, seed, tally, show).run();
  std::cout << "looms from seeds " << first << " to " << first + looms - 1 << ": " << tally.values << " values, "
            << tally.over_range << " OL, " << tally.unsettled << " without rest; " << tally.predicted
            << " predictions; worst share of what is allowed: slow path " << tally.worst_slow << ", fast path "
            << tally.worst_fast << ", predictions " << tally.worst_predicted << "; " << tally.latched
            << " with a second rest, " << tally.rests_in_use << " that rest in use only; ngspice: " << spice->runs()
            << " runs, " << tally.solved_finer << " solved finer, " << tally.without_answer << " without an answer\n";
  EXPECT_EQ(tally.apart, 0U);
  EXPECT_LE(tally.latched, 1 + looms / 500);
  EXPECT_LE(tally.rests_in_use, 1 + looms / 500);
  EXPECT_LE(tally.without_answer, looms / 100);
  if (looms < kEnough) return;
  std::cout << tally.met.table();
  for (const std::string& what : tally.met.missing()) ADD_FAILURE() << "never met: " << what;
}

// Ohms beside cold filaments at a hub, whose resistance the meter's own volts raise.
TEST(Readings, OfLoomsThatWereApartOnce) {
  Ngspice* spice = Ngspice::instance();
  if (spice == nullptr) GTEST_SKIP() << "libngspice0-dev was not there when this was built: NOTHING WAS COMPARED";
  Tally tally;
  for (const std::uint64_t seed : {1251U, 1272U, 2029U}) Comparison(*spice, seed, tally, false).run();
  EXPECT_EQ(tally.apart, 0U);
  EXPECT_GT(tally.values, 0U);
}

}  // namespace
}  // namespace halfsplit::oracle
