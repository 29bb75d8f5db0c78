// SPDX-License-Identifier: Apache-2.0
#include "sparse/matrix.h"

#include <algorithm>
#include <numeric>

#include "base/check.h"

namespace halfsplit::sparse {

Matrix::Matrix(std::size_t size, const std::vector<Triplet>& triplets) : size_(size), slot_(triplets.size()) {
  std::vector<std::size_t> order(triplets.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t l, std::size_t r) {
    if (triplets[l].column != triplets[r].column) return triplets[l].column < triplets[r].column;
    return triplets[l].row < triplets[r].row;
  });
  starts_.assign(size + 1, 0);
  int column = -1;
  int row = -1;
  for (const std::size_t i : order) {
    const Triplet& t = triplets[i];
    HS_CHECK(t.row >= 0 && t.column >= 0 && static_cast<std::size_t>(std::max(t.row, t.column)) < size,
             "triplet outside the matrix");
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
