// SPDX-License-Identifier: Apache-2.0
// An optimistic guess of how well two faults together explain the evidence, from what each shows alone. It decides the
// order in which pairs are predicted, and nothing else: it is no bound.
//
// Where only one of two faults bears on a reading, the pair shows what that one shows alone; where neither does, both
// agree. So each reading is given the better of the two singles. Two faults on one path can also show what neither
// shows alone: if the value seen lies within reach of their effects, one by one or added up (each counted from healthy,
// at any severity), the reading is given the broad level of noise.h, otherwise a small share of it.
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "infer/likelihood_table.h"

namespace halfsplit::infer {

class PairGuess {
 public:
  // rows, table, likelihoods: the single faults (other rows are passed over); each of `faults` has at least one row.
  // The row "not on this drawing" holds the healthy predictions; where those are missing everything is within reach.
  PairGuess(std::span<const FaultRate> faults, std::span<const Row> rows, const evidence::ResponseTable& table,
            const LikelihoodTable& likelihoods, std::span<const Reading> readings, const Noise& noise);
  // The same, of predictions that stand somewhere else, by row and column.
  using Shown = std::function<const evidence::Prediction&(std::size_t row, std::size_t column)>;
  PairGuess(std::span<const FaultRate> faults, std::span<const Row> rows, const Shown& shown,
            const LikelihoodTable& likelihoods, std::span<const Reading> readings, const Noise& noise);

  [[nodiscard]] std::size_t faults() const { return faults_; }
  [[nodiscard]] std::size_t columns() const { return levels_.size(); }
  // Logarithm of the guess, by position in `faults`.
  [[nodiscard]] double log_likelihood(std::size_t i, std::size_t j) const;
  // The same of a pair whose second fault bears on no reading, and of two such faults.
  [[nodiscard]] double log_likelihood_alone(std::size_t i) const;
  [[nodiscard]] double log_likelihood_of_none() const;

 private:
  // Of one fault at one reading: the best of its severities, and its effects from the lowest to the highest.
  struct Single {
    double log_likelihood = 0.0;
    double low = 0.0, high = 0.0;
  };
  // Of one reading: how far it is from healthy, what healthy gives it, what it is given within reach and out of it.
  struct Level {
    double away = 0.0;
    double healthy = 0.0;  // log-likelihood of the healthy prediction
    double within = 0.0, outside = 0.0;
  };
  [[nodiscard]] static bool is_within(const Level& level, const Single& a, const Single& b);
  void add_row(std::size_t fault, std::size_t column, const evidence::Prediction& cell, double log_likelihood,
               const evidence::Prediction& healthy, const Reading& reading);

  std::size_t faults_;
  std::vector<Level> levels_;
  std::vector<Single> singles_;  // fault by fault
};

}  // namespace halfsplit::infer
