// SPDX-License-Identifier: Apache-2.0
#include "tests/oracle/wide_solver.h"

#include <numeric>
#include <utility>

namespace halfsplit::oracle {

namespace {

Wide size_of(Wide x) { return x < 0 ? -x : x; }

std::vector<std::size_t> islands_of(std::size_t nodes, const std::vector<WideBranch>& branches) {
  std::vector<std::size_t> label(nodes);
  std::iota(label.begin(), label.end(), std::size_t{0});
  for (bool more = true; more;) {
    more = false;
    for (const WideBranch& branch : branches) {
      if (branch.open || label[branch.a] == label[branch.b]) continue;
      label[branch.a] = label[branch.b] = std::min(label[branch.a], label[branch.b]);
      more = true;
    }
  }
  return label;
}

// Solves a x = b in place; x ends up in b.
void eliminate(std::vector<std::vector<Wide>>& a, std::vector<Wide>& b) {
  const std::size_t n = b.size();
  for (std::size_t k = 0; k < n; ++k) {
    std::size_t pivot = k;
    for (std::size_t r = k + 1; r < n; ++r)
      if (size_of(a[r][k]) > size_of(a[pivot][k])) pivot = r;
    std::swap(a[k], a[pivot]);
    std::swap(b[k], b[pivot]);
    for (std::size_t r = k + 1; r < n; ++r) {
      if (a[r][k] == 0) continue;
      const Wide m = a[r][k] / a[k][k];
      for (std::size_t c = k; c < n; ++c) a[r][c] -= m * a[k][c];
      b[r] -= m * b[k];
    }
  }
  for (std::size_t k = n; k-- > 0;) {
    for (std::size_t c = k + 1; c < n; ++c) b[k] -= a[k][c] * b[c];
    b[k] /= a[k][k];
  }
}

}  // namespace

Wide WideSolution::amperes(const WideBranch& branch) const {
  if (branch.open) return 0;
  return (volts[branch.a] - volts[branch.b] - Wide(branch.volt)) / Wide(branch.ohm);
}

WideSolution solve_wide(std::size_t nodes, const std::vector<WideBranch>& branches) {
  WideSolution solution;
  solution.island = islands_of(nodes, branches);
  std::vector<std::vector<Wide>> a(nodes, std::vector<Wide>(nodes, 0));
  std::vector<Wide> b(nodes, 0);
  for (const WideBranch& branch : branches) {
    if (branch.open || branch.a == branch.b) continue;
    const Wide g = Wide(1) / Wide(branch.ohm);
    a[branch.a][branch.a] += g;
    a[branch.b][branch.b] += g;
    a[branch.a][branch.b] -= g;
    a[branch.b][branch.a] -= g;
    b[branch.a] += g * Wide(branch.volt);
    b[branch.b] -= g * Wide(branch.volt);
  }
  for (std::size_t n = 0; n < nodes; ++n) {
    if (solution.island[n] != n) continue;
    a[n].assign(nodes, 0);
    a[n][n] = 1;
    b[n] = 0;
  }
  eliminate(a, b);
  solution.volts = std::move(b);
  return solution;
}

}  // namespace halfsplit::oracle
