// SPDX-License-Identifier: Apache-2.0
// Rates turned into prior mass.
#include "infer/prior.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "infer/log_sum.h"

namespace halfsplit::infer {

namespace {

double usable_rate(const FaultRate& fault) {
  HS_CHECK(std::isfinite(fault.rate_per_year) && fault.rate_per_year >= 0.0, "a rate is finite and not negative");
  return std::max(fault.rate_per_year, kSmallestRate);
}

double sum_of_rates(std::span<const FaultRate> faults) {
  CompensatedSum sum;
  for (const FaultRate& fault : faults) sum.add(usable_rate(fault));
  return sum.value();
}

// Sum of rate_i * rate_j over i < j, without the cancellation of (sum^2 - sum of squares) / 2.
double sum_of_products(std::span<const FaultRate> faults) {
  CompensatedSum products;
  CompensatedSum before;
  for (const FaultRate& fault : faults) {
    products.add(before.value() * usable_rate(fault));
    before.add(usable_rate(fault));
  }
  return products.value();
}

double single_share(std::size_t faults, const PriorShares& shares) {
  if (faults == 0) return 0.0;
  return 1.0 - shares.not_drawn - (faults < 2 ? 0.0 : shares.pairs);
}

void check_shares(const PriorShares& shares) {
  HS_CHECK(shares.pairs >= 0.0 && shares.not_drawn >= 0.0 && shares.pairs + shares.not_drawn < 1.0,
           "the shares of pairs and of what is not drawn leave room for single faults");
}

void add_single(std::vector<Row>& rows, const FaultRate& fault, double share) {
  const std::size_t severities = std::max<std::size_t>(fault.severities, 1);
  const auto count = static_cast<double>(severities);
  for (std::size_t k = 0; k < severities; ++k) {
    Row row;
    row.first = fault.fault;
    row.first_quantile = (static_cast<double>(k) + 0.5) / count;
    row.quantile_weight = 1.0 / count;
    row.log_prior = std::log(share / count);
    row.follows = k > 0;
    rows.push_back(std::move(row));
  }
}

}  // namespace

bool is_not_drawn(const Row& row) { return row.first.is_none(); }

std::vector<fault::FaultId> faults_of(const Row& row) {
  std::vector<fault::FaultId> faults = row.more;
  if (!row.first.is_none()) faults.push_back(row.first);
  if (!row.second.is_none()) faults.push_back(row.second);
  std::sort(faults.begin(), faults.end());
  return faults;
}

bool same_hypothesis(const Row& a, const Row& b) {
  if (a.first == b.first && a.second == b.second && a.more.empty() && b.more.empty()) return true;
  return faults_of(a) == faults_of(b);
}

std::vector<Row> make_rows(std::span<const FaultRate> faults, const PriorShares& shares) {
  check_shares(shares);
  const double all_rates = sum_of_rates(faults);
  const double singles = single_share(faults.size(), shares);
  std::vector<Row> rows;
  for (const FaultRate& fault : faults) add_single(rows, fault, singles * usable_rate(fault) / all_rates);
  Row not_drawn;
  if (faults.empty() || shares.not_drawn > 0.0) {
    not_drawn.log_prior = faults.empty() ? 0.0 : std::log(shares.not_drawn);
    rows.push_back(std::move(not_drawn));
  }
  return rows;
}

PairPrior::PairPrior(std::span<const FaultRate> faults, const PriorShares& shares) {
  check_shares(shares);
  for (const FaultRate& fault : faults) log_rates_.push_back(std::log(usable_rate(fault)));
  if (faults.size() < 2 || shares.pairs <= 0.0) return;
  total_ = shares.pairs;
  log_scale_ = std::log(shares.pairs) - std::log(sum_of_products(faults));
}

double PairPrior::rate(std::size_t i) const { return std::exp(log_rates_[i]); }

double PairPrior::scale() const { return std::exp(log_scale_); }

}  // namespace halfsplit::infer
