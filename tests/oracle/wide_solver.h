// SPDX-License-Identifier: Apache-2.0
// A reference for accuracy: nodal analysis of resistors and sources, dense, in 128-bit floating point (113-bit mantissa
// as __float128 or as long double, whichever the machine has), Gaussian elimination with partial pivoting. Long double
// of 64 bits is not enough: it was off by up to 7e-9 at conductance spreads of 1e12 (measured before this was written).
#pragma once

#include <cfloat>
#include <cstddef>
#include <vector>

namespace halfsplit::oracle {

#if LDBL_MANT_DIG == 113
using Wide = long double;
#define HALFSPLIT_WIDE 1
#elif defined(__SIZEOF_FLOAT128__)
__extension__ typedef __float128 Wide;
#define HALFSPLIT_WIDE 1
#else
using Wide = long double;
#define HALFSPLIT_WIDE 0
#endif

// `volt` behind `ohm`, + at a. An open branch is left out by `open`.
struct WideBranch {
  std::size_t a = 0, b = 0;
  double ohm = 1.0, volt = 0.0;
  bool open = false;
};

struct WideSolution {
  std::vector<Wide> volts;                                     // the lowest node of each island is 0 V
  std::vector<std::size_t> island;                             // by node: its lowest node
  [[nodiscard]] Wide amperes(const WideBranch& branch) const;  // from a to b through it
};

[[nodiscard]] WideSolution solve_wide(std::size_t nodes, const std::vector<WideBranch>& branches);

}  // namespace halfsplit::oracle
