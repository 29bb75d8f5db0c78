// SPDX-License-Identifier: Apache-2.0
// The rows of belief: hypotheses split by severity, with their probability before anything is seen. Single faults in
// proportion to their rates per year; a share for pairs of faults, in proportion to the product of the two rates; a
// share for "not on this drawing". A vehicle that is called out has something wrong: there is no row for "nothing".
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "fault/fault.h"

namespace halfsplit::infer {

struct Row {
  fault::FaultId first;              // none: "not on this drawing"
  fault::FaultId second;             // none for singles
  std::vector<fault::FaultId> more;  // third and later; only in tables written by hand
  double first_quantile = 0.5;       // where in its range the severity of `first` is (fault::severity_at)
  double second_quantile = 0.5;
  double quantile_weight = 1.0;  // share of the severities for which this row stands; sums to 1 per hypothesis
  double log_prior = 0.0;        // of this row: quantile_weight is in it
  bool follows = false;          // the next severity up from the row just before it, same hypothesis
};

[[nodiscard]] bool is_not_drawn(const Row& row);
[[nodiscard]] std::vector<fault::FaultId> faults_of(const Row& row);  // sorted; empty: not drawn
[[nodiscard]] bool same_hypothesis(const Row& a, const Row& b);       // same set of faults, severity aside

struct FaultRate {
  fault::FaultId fault;
  double rate_per_year = 0.0;  // finite, not negative; 0 counts as kSmallestRate
  std::size_t severities = 1;  // rows to spread the range over; 1 when there is no range
};
constexpr double kSmallestRate = 1e-12;  // per year

struct PriorShares {
  double pairs = 0.03;      // ours: two independent faults at once
  double not_drawn = 0.05;  // ours: what the drawing does not show
};

// Single faults in the order given, severities from low to high (quantiles (k + 1/2) / n), then "not on this drawing".
// Together exp(log_prior) is 1 - shares.pairs, or 1 when there are fewer than two faults (no pairs then).
[[nodiscard]] std::vector<Row> make_rows(std::span<const FaultRate> faults, const PriorShares& shares);

// Prior of pairs: shares.pairs * rate_i * rate_j / (sum of that product over all pairs i < j of the faults given).
class PairPrior {
 public:
  PairPrior(std::span<const FaultRate> faults, const PriorShares& shares);
  [[nodiscard]] std::size_t size() const { return log_rates_.size(); }
  // By position in `faults`; i != j.
  [[nodiscard]] double log_prior(std::size_t i, std::size_t j) const {
    return log_scale_ + log_rates_[i] + log_rates_[j];
  }
  // A pair's prior is scale() * rate(i) * rate(j).
  [[nodiscard]] double rate(std::size_t i) const;
  [[nodiscard]] double scale() const;
  [[nodiscard]] double total() const { return total_; }  // shares.pairs, or 0 when there are no pairs

 private:
  std::vector<double> log_rates_;
  double log_scale_ = 0.0;
  double total_ = 0.0;
};

}  // namespace halfsplit::infer
