// SPDX-License-Identifier: Apache-2.0
// Bayes' rule in logarithms: joint = prior * product of likelihoods; divided by its sum. Sums are compensated and taken
// in row order, so the result does not depend on threads or on how rows are grouped.
#include "infer/posterior.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "base/check.h"
#include "infer/log_sum.h"

namespace halfsplit::infer {

namespace {

using FaultSet = std::vector<fault::FaultId>;

std::vector<Suspect> collect_suspects(std::span<const Row> rows) {
  std::vector<Suspect> suspects;
  std::map<FaultSet, std::size_t> position;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    if (suspects.empty() || !same_hypothesis(suspects.back().faults, rows[r])) {
      const auto [entry, is_new] = position.emplace(faults_of(rows[r]), suspects.size());
      if (is_new) suspects.push_back({rows[r], {}, 0.0});
      suspects[entry->second].rows.push_back(r);
    } else {
      suspects.back().rows.push_back(r);
    }
  }
  return suspects;
}

double sum_at(const std::vector<double>& values, const std::vector<std::size_t>& positions) {
  CompensatedSum sum;
  for (const std::size_t position : positions) sum.add(values[position]);
  return sum.value();
}

std::vector<double> fault_marginals(const std::vector<Suspect>& suspects) {
  std::vector<CompensatedSum> sums;
  for (const Suspect& suspect : suspects) {
    for (const fault::FaultId id : faults_of(suspect.faults)) {
      if (sums.size() <= id.index()) sums.resize(id.index() + 1);
      sums[id.index()].add(suspect.probability);
    }
  }
  std::vector<double> out;
  out.reserve(sums.size());
  for (const CompensatedSum& sum : sums) out.push_back(std::min(sum.value(), 1.0));
  return out;
}

}  // namespace

std::vector<double> log_joint(std::span<const Row> rows, const LikelihoodTable& likelihoods, std::size_t without) {
  HS_CHECK(rows.size() == likelihoods.rows(), "rows and likelihoods are in step");
  std::vector<double> out(rows.size());
  for (std::size_t r = 0; r < rows.size(); ++r) out[r] = rows[r].log_prior;
  for (std::size_t c = 0; c < likelihoods.columns(); ++c) {
    if (c == without) continue;
    const std::span<const double> column = likelihoods.column(c);
    for (std::size_t r = 0; r < rows.size(); ++r) out[r] += column[r];
  }
  return out;
}

Posterior compute_posterior(std::span<const Row> rows, const LikelihoodTable& likelihoods,
                            const PosteriorOptions& options) {
  HS_CHECK(!rows.empty(), "belief needs at least one row");
  Posterior out;
  out.row = log_joint(rows, likelihoods);
  out.log_evidence = log_sum_exp(out.row);
  HS_CHECK(std::isfinite(out.log_evidence), "at least one row is possible");
  for (double& value : out.row) value = std::exp(value - out.log_evidence);
  out.suspects = collect_suspects(rows);
  for (Suspect& suspect : out.suspects) {
    suspect.probability = sum_at(out.row, suspect.rows);
    if (is_not_drawn(suspect.faults)) out.not_drawn = suspect.probability;
  }
  out.fault = fault_marginals(out.suspects);
  out.unexplored = std::exp(options.log_left_out - log_sum_exp(options.log_left_out, out.log_evidence));
  return out;
}

Posterior compute_posterior(std::span<const Row> rows, const evidence::ResponseTable& table,
                            std::span<const Reading> readings, const Noise& noise, const PosteriorOptions& options) {
  return compute_posterior(rows, compute_likelihoods(rows, table, readings, noise), options);
}

std::vector<std::size_t> rank_suspects(const Posterior& posterior) {
  std::vector<std::size_t> order(posterior.suspects.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return posterior.suspects[a].probability > posterior.suspects[b].probability;
  });
  return order;
}

}  // namespace halfsplit::infer
