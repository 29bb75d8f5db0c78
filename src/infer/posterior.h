// SPDX-License-Identifier: Apache-2.0
// Belief after the evidence: exact over the rows given (no approximation but the rows themselves), deterministic, and
// finite whatever was read. Probabilities are shares of what is in the rows; what was left out of them (pairs not
// looked at) enters as a bound.
#pragma once

#include <cstddef>
#include <limits>
#include <span>
#include <vector>

#include "infer/likelihood_table.h"
#include "infer/prior.h"

namespace halfsplit::infer {

// One set of faults, all its severities together.
struct Suspect {
  Row faults;                     // first row of the set: which faults
  std::vector<std::size_t> rows;  // all of its rows
  double probability = 0.0;
};

struct Posterior {
  std::vector<double> row;        // probability of each row; sums to 1
  std::vector<Suspect> suspects;  // by first appearance; "not on this drawing" is one of them
  std::vector<double> fault;      // by FaultId: chance that this fault is present, alone or with others
  double not_drawn = 0.0;
  double log_evidence = 0.0;  // logarithm of the chance (density) of all that was seen
  double unexplored = 0.0;    // at most this share of belief is with hypotheses that are not in the rows
};

struct PosteriorOptions {
  // Logarithm of a bound on prior times likelihood of everything left out of the rows (pairs.h); minus infinity:
  // nothing.
  double log_left_out = -std::numeric_limits<double>::infinity();
};

[[nodiscard]] Posterior compute_posterior(std::span<const Row> rows, const LikelihoodTable& likelihoods,
                                          const PosteriorOptions& options = {});
// Without a kept table.
[[nodiscard]] Posterior compute_posterior(std::span<const Row> rows, const evidence::ResponseTable& table,
                                          std::span<const Reading> readings, const Noise& noise,
                                          const PosteriorOptions& options = {});

// Positions in `suspects`, most probable first; equals stay in order.
[[nodiscard]] std::vector<std::size_t> rank_suspects(const Posterior& posterior);

// Logarithm of prior times likelihood of each row; `without`: a column to leave out (npos: none).
constexpr std::size_t kNoColumn = static_cast<std::size_t>(-1);
[[nodiscard]] std::vector<double> log_joint(std::span<const Row> rows, const LikelihoodTable& likelihoods,
                                            std::size_t without = kNoColumn);

}  // namespace halfsplit::infer
