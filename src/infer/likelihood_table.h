// SPDX-License-Identifier: Apache-2.0
// Log-likelihoods kept: rows are hypotheses, columns are pieces of evidence. A new reading costs one column, a reading
// taken back removes one, a pair found adds rows. Nothing here knows of priors.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "evidence/prediction.h"
#include "infer/likelihood.h"
#include "infer/noise.h"
#include "infer/prior.h"

namespace halfsplit::infer {

class LikelihoodTable {
 public:
  explicit LikelihoodTable(std::size_t rows) : rows_(rows) {}
  [[nodiscard]] std::size_t rows() const { return rows_; }
  [[nodiscard]] std::size_t columns() const { return columns_.size(); }
  [[nodiscard]] double at(std::size_t row, std::size_t column) const { return columns_[column][row]; }
  [[nodiscard]] std::span<const double> column(std::size_t column) const { return columns_[column]; }

  void add_column(std::vector<double> log_likelihoods);                          // one per row
  void replace_column(std::size_t column, std::vector<double> log_likelihoods);  // one per row
  void remove_column(std::size_t column);
  void append_row(std::span<const double> log_likelihoods);  // one per column

 private:
  std::size_t rows_;
  std::vector<std::vector<double>> columns_;
};

// The neighbours in severity of row r, where the table knows any.
[[nodiscard]] Neighbours neighbours_of(std::span<const Row> rows, const evidence::ResponseTable& table, std::size_t r,
                                       std::size_t column);

// One column: table.at(row, column) against the reading, for every row. Rows that follow one another in severity are
// averaged between neighbours; the row "not on this drawing" takes its cell as the healthy prediction (likelihood.h).
[[nodiscard]] std::vector<double> compute_column(std::span<const Row> rows, const evidence::ResponseTable& table,
                                                 std::size_t column, const Reading& reading, const Noise& noise);

// All of them: readings[c] belongs to column c of the table.
[[nodiscard]] LikelihoodTable compute_likelihoods(std::span<const Row> rows, const evidence::ResponseTable& table,
                                                  std::span<const Reading> readings, const Noise& noise);

}  // namespace halfsplit::infer
