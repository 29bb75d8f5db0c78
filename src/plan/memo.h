// SPDX-License-Identifier: Apache-2.0
// What was found out about places of the search, by fingerprint. Open addressing, doubles when two thirds full; its
// contents and order of growth depend on the keys alone.
#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "plan/belief.h"

namespace halfsplit::plan {

template <class Value>
class Memo {
 public:
  [[nodiscard]] const Value* find(const Fingerprint& key) const {
    if (cells_.empty()) return nullptr;
    const Cell& cell = cells_[slot(key)];
    return cell.used ? &cell.value : nullptr;
  }

  void put(const Fingerprint& key, const Value& value) {
    if (3 * (size_ + 1) > 2 * cells_.size()) grow();
    Cell& cell = cells_[slot(key)];
    if (!cell.used) ++size_;
    cell = {key, value, true};
  }

  [[nodiscard]] std::size_t size() const { return size_; }
  void clear() {
    constexpr std::size_t kKeep = 4'096;  // cells worth keeping for the next use
    if (cells_.size() > kKeep) cells_.clear();
    for (Cell& cell : cells_) cell.used = false;
    size_ = 0;
  }

 private:
  struct Cell {
    Fingerprint key;
    Value value{};
    bool used = false;
  };

  // Where the key is, or the free cell where it belongs.
  [[nodiscard]] std::size_t slot(const Fingerprint& key) const {
    std::size_t at = key.low & (cells_.size() - 1);
    while (cells_[at].used && !(cells_[at].key == key)) at = (at + 1) & (cells_.size() - 1);
    return at;
  }

  void grow() {
    std::vector<Cell> old = std::exchange(cells_, std::vector<Cell>(cells_.empty() ? 256 : 2 * cells_.size()));
    for (const Cell& cell : old) {
      if (cell.used) cells_[slot(cell.key)] = cell;
    }
  }

  std::vector<Cell> cells_;
  std::size_t size_ = 0;
};

}  // namespace halfsplit::plan
