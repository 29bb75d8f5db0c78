// SPDX-License-Identifier: Apache-2.0
#include "sparse/matrix.h"

#include <algorithm>
#include <numeric>

#include "base/check.h"

namespace halfsplit::sparse {

namespace {

// Places of a list in the order of their keys, below `keys`; what has the same key stays in its order.
template <class Key>
std::vector<std::size_t> by_key(const std::vector<std::size_t>& order, std::size_t keys, Key key) {
  std::vector<std::size_t> start(keys + 1, 0);
  for (const std::size_t i : order) ++start[key(i) + 1];
  std::partial_sum(start.begin(), start.end(), start.begin());
  std::vector<std::size_t> sorted(order.size());
  for (const std::size_t i : order) sorted[start[key(i)]++] = i;
  return sorted;
}

}  // namespace

Matrix::Matrix(std::size_t size, const std::vector<Triplet>& triplets) : size_(size), slot_(triplets.size()) {
  for (const Triplet& t : triplets)
    HS_CHECK(t.row >= 0 && t.column >= 0 && static_cast<std::size_t>(std::max(t.row, t.column)) < size,
             "triplet outside the matrix");
  std::vector<std::size_t> order(triplets.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  order = by_key(order, size, [&](std::size_t i) { return static_cast<std::size_t>(triplets[i].row); });
  order = by_key(order, size, [&](std::size_t i) { return static_cast<std::size_t>(triplets[i].column); });
  starts_.assign(size + 1, 0);
  rows_.reserve(triplets.size());
  int column = -1;
  int row = -1;
  for (const std::size_t i : order) {
    const Triplet& t = triplets[i];
    if (t.column != column || t.row != row) {
      rows_.push_back(t.row);
      ++starts_[static_cast<std::size_t>(t.column) + 1];
      column = t.column;
      row = t.row;
    }
    slot_[i] = rows_.size() - 1;
  }
  std::partial_sum(starts_.begin(), starts_.end(), starts_.begin());
  values_.resize(rows_.size());
  refill(triplets);
}

void Matrix::refill(const std::vector<Triplet>& triplets) {
  HS_CHECK(triplets.size() == slot_.size(), "refill with another pattern");
  std::fill(values_.begin(), values_.end(), 0.0);
  for (std::size_t i = 0; i < triplets.size(); ++i) values_[slot_[i]] += triplets[i].value;
}

}  // namespace halfsplit::sparse
