// SPDX-License-Identifier: Apache-2.0
// Pairs of faults, looked at best first. Which comes first is decided by an optimistic guess from the single faults
// (pair_guess.h); it decides order only. What is left unlooked at is bounded rigorously: the prior mass of the
// remaining pairs times the most that any prediction could give each reading (peak_density: instruments have a smallest
// sigma). That bound is loose when many sharp readings are in; it is told apart from the estimate, which uses the
// optimistic guess.
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <utility>
#include <vector>

#include "base/cancel.h"
#include "infer/likelihood_table.h"
#include "infer/pair_guess.h"
#include "infer/posterior.h"

namespace halfsplit::infer {

// One row of a pair: what it would show at every evidence column, at one choice of the two severities.
struct PairRow {
  double first_quantile = 0.5;
  double second_quantile = 0.5;
  double weight = 1.0;                      // sums to 1 over the rows of the pair
  bool follows = false;                     // the next severity up from the row before it
  std::vector<evidence::Prediction> cells;  // by column
};

// Solves for the pair; the two are positions in `faults`, first < second. An empty reply: the two cannot be together.
using PredictPair = std::function<std::vector<PairRow>(std::size_t first, std::size_t second)>;

// Told which pairs are asked for next, as far as they are: positions in `faults`. Some may not be asked for after all.
using PairsAhead = std::function<void(std::span<const std::pair<std::size_t, std::size_t>>)>;

struct PairSearch {
  std::span<const FaultRate> faults;
  PriorShares shares;
  std::span<const Reading> readings;
  Noise noise;
  // Positions in `faults`, ascending, of those that bear on a reading: only they are paired with one another. Pairs
  // with another fault show what the one alone shows; they are added up as a whole. Empty: all.
  std::span<const std::size_t> among;
  const PairGuess* guess = nullptr;   // for the faults `among` (all, when it is empty) and the readings
  double log_evidence_singles = 0.0;  // Posterior::log_evidence over singles and "not on this drawing"
  double epsilon = 1e-3;              // stop when at most this share of belief can be left
  double epsilon_of_estimate = 0.0;   // stop as well when the estimate of what is left is this low; 0: never
  std::size_t budget = 2000;          // pairs to predict at most
  double keep = 1e-6;                 // pairs below this share of belief are counted, not kept
  PairsAhead ahead;                   // for who can predict several at once; changes nothing in what is found
};

struct PairsFound {
  std::vector<Row> rows;                                 // kept pairs, best first by the optimistic guess
  LikelihoodTable likelihoods{0};                        // of those rows
  std::vector<std::vector<evidence::Prediction>> cells;  // of those rows
  std::size_t evaluated = 0;                             // pairs predicted
  std::size_t possible = 0;                              // pairs there are
  double prior_left = 0.0;                               // prior mass of pairs not predicted
  double log_left_out_bound = 0.0;   // for PosteriorOptions: pairs not predicted (bound) and those not kept (exact)
  double share_left_bound = 0.0;     // pairs not predicted, as a share of belief: never below the truth
  double share_left_estimate = 0.0;  // the same by the optimistic guess; may be wrong either way
  bool cancelled = false;
};

[[nodiscard]] PairsFound explore_pairs(const PairSearch& search, const PredictPair& predict,
                                       const base::CancelToken& cancel = {});

// Puts the pairs found below what is there; the three stay in step.
void append_pairs(const PairsFound& found, std::vector<Row>& rows, evidence::ResponseTable& table,
                  LikelihoodTable& likelihoods);

}  // namespace halfsplit::infer
