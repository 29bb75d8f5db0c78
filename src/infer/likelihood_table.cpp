// SPDX-License-Identifier: Apache-2.0
#include "infer/likelihood_table.h"

#include <utility>

#include "base/check.h"

namespace halfsplit::infer {

Neighbours neighbours_of(std::span<const Row> rows, const evidence::ResponseTable& table, std::size_t r,
                         std::size_t column) {
  Neighbours neighbours;
  const auto share = [&](std::size_t other) {
    return rows[r].quantile_weight / (rows[r].quantile_weight + rows[other].quantile_weight);
  };
  if (rows[r].follows && r > 0) {
    neighbours.below = &table.at(r - 1, column);
    neighbours.share_below = share(r - 1);
  }
  if (r + 1 < rows.size() && rows[r + 1].follows) {
    neighbours.above = &table.at(r + 1, column);
    neighbours.share_above = share(r + 1);
  }
  return neighbours;
}

void LikelihoodTable::add_column(std::vector<double> log_likelihoods) {
  HS_CHECK(log_likelihoods.size() == rows_, "a column has one entry per row");
  columns_.push_back(std::move(log_likelihoods));
}

void LikelihoodTable::replace_column(std::size_t column, std::vector<double> log_likelihoods) {
  HS_CHECK(column < columns() && log_likelihoods.size() == rows_, "a column that is there has one entry per row");
  columns_[column] = std::move(log_likelihoods);
}

void LikelihoodTable::remove_column(std::size_t column) {
  HS_CHECK(column < columns(), "only a column that is there is removed");
  columns_.erase(columns_.begin() + static_cast<std::ptrdiff_t>(column));
}

void LikelihoodTable::append_row(std::span<const double> log_likelihoods) {
  HS_CHECK(log_likelihoods.size() == columns(), "a row has one entry per column");
  for (std::size_t c = 0; c < columns(); ++c) columns_[c].push_back(log_likelihoods[c]);
  ++rows_;
}

std::vector<double> compute_column(std::span<const Row> rows, const evidence::ResponseTable& table, std::size_t column,
                                   const Reading& reading, const Noise& noise) {
  HS_CHECK(rows.size() == table.rows() && column < table.columns(), "rows and table are in step");
  const Levels levels = compute_levels(reading, noise);
  std::vector<double> out(rows.size());
  Reading own;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const evidence::Prediction& cell = table.at(r, column);
    const Reading& its = reading_for(rows[r], reading, own);
    out[r] = is_not_drawn(rows[r]) ? log_likelihood_beyond_drawing(cell, its, noise)
                                   : log_likelihood(cell, neighbours_of(rows, table, r, column), its, noise, levels);
  }
  return out;
}

LikelihoodTable compute_likelihoods(std::span<const Row> rows, const evidence::ResponseTable& table,
                                    std::span<const Reading> readings, const Noise& noise) {
  HS_CHECK(readings.size() == table.columns(), "one reading per column");
  LikelihoodTable out(rows.size());
  for (std::size_t c = 0; c < readings.size(); ++c) out.add_column(compute_column(rows, table, c, readings[c], noise));
  return out;
}

}  // namespace halfsplit::infer
