// SPDX-License-Identifier: Apache-2.0
// Forward substitution that visits only the columns it reaches: a heap of indices waiting, lowest first. Entries reach
// only downwards, so an index taken out is final.
#include "sparse/half_solver.h"

#include <algorithm>
#include <functional>
#include <utility>

namespace halfsplit::sparse {

HalfSolver::HalfSolver(Factors factors) : factors_(std::move(factors)) {}

namespace {

struct Waiting {
  std::size_t index = 0;
  long double value = 0.0L;
};

Half forward(const Triangle& triangle, std::vector<Waiting>& waiting) {
  const auto later = [](const Waiting& a, const Waiting& b) { return a.index > b.index; };
  std::make_heap(waiting.begin(), waiting.end(), later);
  Half half;
  while (!waiting.empty()) {
    const std::size_t column = waiting.front().index;
    long double sum = 0.0L;
    while (!waiting.empty() && waiting.front().index == column) {
      sum += waiting.front().value;
      std::pop_heap(waiting.begin(), waiting.end(), later);
      waiting.pop_back();
    }
    if (sum == 0.0L) continue;
    if (!triangle.diagonal.empty()) sum /= triangle.diagonal[column];
    half.index.push_back(static_cast<std::uint32_t>(column));
    half.value.push_back(sum);
    for (std::uint32_t k = triangle.start[column]; k < triangle.start[column + 1]; ++k) {
      waiting.push_back({triangle.row[k], -triangle.value[k] * sum});
      std::push_heap(waiting.begin(), waiting.end(), later);
    }
  }
  return half;
}

}  // namespace

Half HalfSolver::left(std::span<const Entry> rhs) const {
  std::vector<Waiting> waiting;
  waiting.reserve(64);
  for (const Entry& e : rhs)
    if (e.value != 0.0)
      waiting.push_back({factors_.row_at[e.index], static_cast<long double>(e.value) / factors_.row_scale[e.index]});
  return forward(factors_.lower, waiting);
}

Half HalfSolver::right(std::span<const Entry> unknowns) const {
  std::vector<Waiting> waiting;
  waiting.reserve(64);
  for (const Entry& e : unknowns)
    if (e.value != 0.0) waiting.push_back({factors_.column_at[e.index], e.value});
  return forward(factors_.upper_transposed, waiting);
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

}  // namespace halfsplit::sparse
