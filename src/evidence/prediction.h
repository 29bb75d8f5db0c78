// SPDX-License-Identifier: Apache-2.0
// What one hypothesis says one observable would show: a small mixture, never a single number. A cell without parts
// says "unknown": it carries no information.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace halfsplit::evidence {

// One way the reading can come out. Numeric: over_range, or normal with mean and sigma (tolerances and meter together,
// in the observable's unit). Category: probabilities by index, summing to 1.
struct Component {
  double weight = 1.0;
  bool over_range = false;
  double mean = 0.0;
  double sigma = 0.0;
  std::array<float, 3> category{};  // used by category kinds only
  std::uint32_t states = 0;         // a print of how relays, modules and fuses stand: equal prints, equal circuit
  std::uint8_t moment = 0;          // of what comes and goes, which of its moments: drawn anew for each reading
  double anew = 0.0;  // of sigma, what each reading draws anew: the meter's share, and what the modules' talking does
};

struct Prediction {
  // Weights sum to 1, or to less: in the rest of it the circuit finds no rest. The likeliest way of standing comes
  // first. Empty: unknown.
  std::vector<Component> components;
  bool settled = true;  // false: the circuit's states found no rest in any of it (a buzzing relay, say)
};

// Of a category kind: the chance of one of its words.
[[nodiscard]] inline double chance_of(const Prediction& prediction, int category) {
  double chance = 0.0;
  for (const Component& c : prediction.components)
    chance += c.weight * static_cast<double>(c.category[static_cast<std::size_t>(category)]);
  return chance;
}

// Rows are hypotheses, columns are observables. Row-major.
class ResponseTable {
 public:
  ResponseTable(std::size_t rows, std::size_t columns) : columns_(columns), cells_(rows * columns) {}
  [[nodiscard]] std::size_t rows() const { return columns_ == 0 ? 0 : cells_.size() / columns_; }
  [[nodiscard]] std::size_t columns() const { return columns_; }
  [[nodiscard]] Prediction& at(std::size_t row, std::size_t column) { return cells_[row * columns_ + column]; }
  [[nodiscard]] const Prediction& at(std::size_t row, std::size_t column) const {
    return cells_[row * columns_ + column];
  }

 private:
  std::size_t columns_;
  std::vector<Prediction> cells_;
};

}  // namespace halfsplit::evidence
