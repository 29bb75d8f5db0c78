// SPDX-License-Identifier: Apache-2.0
// A square sparse matrix in compressed columns, made from triplets once and refilled in place as often as wanted.
#pragma once

#include <cstddef>
#include <vector>

namespace halfsplit::sparse {

struct Triplet {
  int row = 0;
  int column = 0;
  double value = 0.0;
};

// Duplicates are summed. `slot` tells where each triplet went, so that values can be refilled without sorting again.
class Matrix {
 public:
  Matrix() = default;
  Matrix(std::size_t size, const std::vector<Triplet>& triplets);

  // Same pattern, new values: one per triplet of the constructor, in its order.
  void refill(const std::vector<Triplet>& triplets);

  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] std::size_t entries() const { return rows_.size(); }
  [[nodiscard]] const std::vector<int>& column_starts() const { return starts_; }
  [[nodiscard]] const std::vector<int>& rows() const { return rows_; }
  [[nodiscard]] const std::vector<double>& values() const { return values_; }

 private:
  std::size_t size_ = 0;
  std::vector<int> starts_, rows_;
  std::vector<double> values_;
  std::vector<std::size_t> slot_;
};

}  // namespace halfsplit::sparse
