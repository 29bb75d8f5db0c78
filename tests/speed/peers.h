// SPDX-License-Identifier: Apache-2.0
// For benches: what our figures are divided by, timed in the same run. Seconds of this process on its core, of the
// fastest of several goes, so that what else the machine does falls out.
#pragma once

#include <algorithm>
#include <ctime>
#include <limits>

#include "tests/support/example_loom.h"

namespace halfsplit::bench {

inline double core_time_s() {
  timespec now{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

template <class Work>
double fastest_s(int goes, Work work) {
  double best = std::numeric_limits<double>::infinity();
  for (int i = 0; i < goes; ++i) {
    const double start = core_time_s();
    work();
    best = std::min(best, core_time_s() - start);
  }
  return best;
}

// One numeric factorisation and one solve (one step of refinement) of the loom's matrix at work, pattern known.
[[nodiscard]] double factor_and_solve_s(const test::ExampleLoom& loom);

// One operating point of ngspice with one resistance altered: the circuit at work, loaded once, states known, no value
// fetched. The median of `count`. Zero when ngspice was not there at build time or would not solve it.
[[nodiscard]] double ngspice_operating_point_s(const test::ExampleLoom& loom, int count);

}  // namespace halfsplit::bench
