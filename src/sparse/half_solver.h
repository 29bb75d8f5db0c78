// SPDX-License-Identifier: Apache-2.0
// Halves of a solve, kept sparse. With the factors P R A Q = L U (R the row scaling), one entry of A^-1 b is
//     (A^-1 b)[j] = (U^-T e_j) . (L^-1 P R b)
// so that each right-hand side b leaves a left half, each unknown j a right half, and any entry wanted is one dot
// product of two short vectors. A loom is nearly a tree: a half holds the nodes on the way to the root of the
// elimination and no others (Gilbert and Peierls, "Sparse partial pivoting in time proportional to arithmetic
// operations", SIAM J. Sci. Stat. Comput. 9, 1988). A half cannot be refined against the matrix, so factors and halves
// are in extended precision (64 bits of fraction); where a share of a millionth is enough, as for spreads, sums are
// formed in ordinary precision, which is several times as fast. Not for several threads at once.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace halfsplit::sparse {

// Entries in rising index.
struct Half {
  std::vector<std::uint32_t> index;
  std::vector<long double> value;
  std::vector<double> rough;  // the same, rounded
  [[nodiscard]] bool empty() const { return index.empty(); }
  [[nodiscard]] std::size_t size() const { return index.size(); }
};

// A unit-free entry of a right-hand side or of a row of unknowns.
struct Entry {
  std::size_t index = 0;
  double value = 0.0;
};

// The factors, as Lu::extract gives them: lower-triangular by columns, the diagonal apart.
struct Triangle {
  std::vector<std::uint32_t> start;  // size + 1
  std::vector<std::uint32_t> row;    // below the diagonal, by column
  std::vector<long double> value;
  std::vector<long double> diagonal;  // empty: ones
};

struct Factors {
  Triangle lower;                        // L
  Triangle upper_transposed;             // U, by rows
  std::vector<std::uint32_t> row_at;     // where row i of A stands in L: the inverse of P
  std::vector<std::uint32_t> column_at;  // where unknown j stands in U: the inverse of Q
  std::vector<double> row_scale;         // by row of A: what its right-hand side is divided by
};

class HalfSolver {
 public:
  HalfSolver() = default;
  explicit HalfSolver(Factors factors);

  [[nodiscard]] std::size_t size() const { return factors_.row_at.size(); }
  // Of the right-hand side with these entries; entries of one index are summed.
  [[nodiscard]] Half left(std::span<const Entry> rhs);
  // Of the sum of coefficient * unknown.
  [[nodiscard]] Half right(std::span<const Entry> unknowns);

 private:
  void put(std::size_t index, long double value);
  [[nodiscard]] Half forward(const Triangle& triangle);

  Factors factors_;
  std::vector<long double> waiting_;   // sums at indices still to come, all zero in between
  std::vector<std::uint64_t> marked_;  // which: a bit each
};

[[nodiscard]] long double dot(const Half& a, const Half& b);

// Halves added up and laid out in full, for many dot products with the same sum. add() and clear() touch their entries
// only.
class Spread {
 public:
  explicit Spread(std::size_t size) : full_(size, 0.0L), mark_(size, 0) {}
  void add(const Half& half, long double factor);
  void clear();
  [[nodiscard]] long double dot(const Half& half) const;
  [[nodiscard]] long double operator[](std::size_t index) const { return full_[index]; }
  // The indices that something was added to, each once.
  [[nodiscard]] const std::vector<std::uint32_t>& touched() const { return touched_; }

 private:
  std::vector<long double> full_;
  std::vector<char> mark_;
  std::vector<std::uint32_t> touched_;
};

// As Spread, in ordinary precision.
class RoughSpread {
 public:
  explicit RoughSpread(std::size_t size) : full_(size, 0.0) {}
  void add(const Half& half, double factor);
  void clear();
  [[nodiscard]] double dot(const Half& half) const;

 private:
  std::vector<double> full_;
  std::vector<std::uint32_t> touched_;  // some of them more than once
};

}  // namespace halfsplit::sparse
