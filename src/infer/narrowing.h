// SPDX-License-Identifier: Apache-2.0
// Which hypotheses need looking at, and at which readings. Most faults of a whole vehicle have nothing to do with what
// was seen: after a reading or two that they do not explain, no further reading could bring them back. A hypothesis
// that was not looked at everywhere weighs at most its prior times the likelihoods known times the most that any
// prediction gives the other readings (noise.h, peak_density). What is set aside stays below a share of belief, also
// when any one reading is left out; the share is told (log_left_out), never lost. When a reading revives them, they are
// looked at after all.
//
// A reading that the leading hypothesis does not explain is put to every hypothesis: a second fault may lie there.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "evidence/prediction.h"
#include "infer/noise.h"
#include "infer/prior.h"

namespace halfsplit::infer {

// Rows of one hypothesis, which follow one another.
struct RowGroup {
  std::size_t first = 0, count = 0;
};
[[nodiscard]] std::vector<RowGroup> group_rows(std::span<const Row> rows);

// Does a prediction say something else than another, by more than this share of the smaller spread (for words: by more
// than a hundredth of it as a chance)?
[[nodiscard]] bool differ(const evidence::Prediction& one, const evidence::Prediction& other, evidence::Kind kind,
                          double spreads = 1.0);

class Narrowing {
 public:
  // Rows and readings must outlive it.
  Narrowing(std::span<const Row> rows, std::span<const Reading> readings, const Noise& noise);

  [[nodiscard]] const std::vector<RowGroup>& groups() const { return groups_; }
  [[nodiscard]] bool is_known(std::size_t group, std::size_t column) const {
    return known_[group * columns_ + column] != 0;
  }
  [[nodiscard]] bool is_complete(std::size_t group) const { return unknown_[group] == 0; }
  // Log-likelihoods of a group's rows at one reading.
  void set(std::size_t group, std::size_t column, std::span<const double> log_likelihoods);
  // Of a row at a reading that is known.
  [[nodiscard]] double at(std::size_t row, std::size_t column) const { return likelihood_[row * columns_ + column]; }

  // What to look at next, by column, groups in order; all empty: enough is known.
  [[nodiscard]] std::vector<std::vector<std::size_t>> next();
  // Logarithm of the most that prior times likelihood of all incomplete groups can be together.
  [[nodiscard]] double log_left_out() const;

 private:
  struct Bounds;
  [[nodiscard]] Bounds compute_bounds() const;
  void ask(std::size_t group, bool all, std::vector<std::vector<std::size_t>>& asked) const;
  void ask_unexplained(std::vector<std::vector<std::size_t>>& asked) const;

  std::span<const Row> rows_;
  std::vector<RowGroup> groups_;
  std::size_t columns_;
  std::vector<double> log_peak_, log_broad_;  // by column
  std::vector<char> known_;                   // group by group
  std::vector<std::size_t> unknown_;          // columns, by group
  std::vector<char> pursued_;                 // asked for once, by group
  std::vector<double> likelihood_;            // row by row
};

}  // namespace halfsplit::infer
