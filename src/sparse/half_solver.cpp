// SPDX-License-Identifier: Apache-2.0
// Forward substitution that visits only the columns it reaches: those waiting are marked, a bit each, and looked for
// from the first on. Entries reach only downwards, so an index taken out is final.
#include "sparse/half_solver.h"

#include <bit>
#include <utility>

namespace halfsplit::sparse {

namespace {
constexpr std::size_t kBits = 64;
}

HalfSolver::HalfSolver(Factors factors)
    : factors_(std::move(factors)), waiting_(size(), 0.0L), marked_((size() + kBits - 1) / kBits, 0) {}

void HalfSolver::put(std::size_t index, long double value) {
  waiting_[index] += value;
  marked_[index / kBits] |= std::uint64_t{1} << (index % kBits);
}

Half HalfSolver::forward(const Triangle& triangle) {
  Half half;
  for (std::size_t word = 0; word < marked_.size(); ++word)
    while (marked_[word] != 0) {
      const std::size_t column = word * kBits + static_cast<std::size_t>(std::countr_zero(marked_[word]));
      marked_[word] &= marked_[word] - 1;
      long double sum = std::exchange(waiting_[column], 0.0L);
      if (sum == 0.0L) continue;
      if (!triangle.diagonal.empty()) sum /= triangle.diagonal[column];
      half.index.push_back(static_cast<std::uint32_t>(column));
      half.value.push_back(sum);
      for (std::uint32_t k = triangle.start[column]; k < triangle.start[column + 1]; ++k)
        put(triangle.row[k], -triangle.value[k] * sum);
    }
  half.rough.assign(half.value.begin(), half.value.end());
  return half;
}

Half HalfSolver::left(std::span<const Entry> rhs) {
  for (const Entry& e : rhs)
    put(factors_.row_at[e.index], static_cast<long double>(e.value) / factors_.row_scale[e.index]);
  return forward(factors_.lower);
}

Half HalfSolver::right(std::span<const Entry> unknowns) {
  for (const Entry& e : unknowns) put(factors_.column_at[e.index], e.value);
  return forward(factors_.upper_transposed);
}

long double dot(const Half& a, const Half& b) {
  long double sum = 0.0L;
  std::size_t i = 0, j = 0;
  while (i < a.size() && j < b.size()) {
    if (a.index[i] == b.index[j])
      sum += a.value[i++] * b.value[j++];
    else if (a.index[i] < b.index[j])
      ++i;
    else
      ++j;
  }
  return sum;
}

void Spread::add(const Half& half, long double factor) {
  for (std::size_t k = 0; k < half.size(); ++k) {
    full_[half.index[k]] += factor * half.value[k];
    char& mark = mark_[half.index[k]];
    if (mark == 0) touched_.push_back(half.index[k]);
    mark = 1;
  }
}

void Spread::clear() {
  for (const std::uint32_t k : touched_) {
    full_[k] = 0.0L;
    mark_[k] = 0;
  }
  touched_.clear();
}

long double Spread::dot(const Half& half) const {
  long double sum = 0.0L;
  for (std::size_t k = 0; k < half.size(); ++k) sum += full_[half.index[k]] * half.value[k];
  return sum;
}

void RoughSpread::add(const Half& half, double factor) {
  for (std::size_t k = 0; k < half.size(); ++k) full_[half.index[k]] += factor * half.rough[k];
  touched_.insert(touched_.end(), half.index.begin(), half.index.end());
}

void RoughSpread::clear() {
  for (const std::uint32_t k : touched_) full_[k] = 0.0;
  touched_.clear();
}

// Four sums side by side: each addition would wait for the one before it.
double RoughSpread::dot(const Half& half) const {
  double sum[4] = {0.0, 0.0, 0.0, 0.0};
  std::size_t k = 0;
  for (; k + 4 <= half.size(); k += 4)
    for (std::size_t j = 0; j < 4; ++j) sum[j] += full_[half.index[k + j]] * half.rough[k + j];
  for (; k < half.size(); ++k) sum[0] += full_[half.index[k]] * half.rough[k];
  return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

}  // namespace halfsplit::sparse
