// SPDX-License-Identifier: Apache-2.0
// Two faults at once: which are paired, what is known of them, and what a pair shows.
#include <algorithm>
#include <cmath>

#include "app/belief.h"
#include "infer/log_sum.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kPairBudget = 150;  // pairs predicted
constexpr double kPairEstimate = 0.01;    // stop when no more than this can be expected of the rest
constexpr std::size_t kMostPaired = 400;  // faults paired with one another
constexpr std::size_t kMostPairCells = 20'000;
constexpr double kPairQuantiles[] = {0.2, 0.5, 0.8};

}  // namespace

// Faults that show something else than the healthy vehicle, the likeliest to explain what it does not; in order.
std::vector<std::size_t> BeliefEngine::find_bearing(const Belief& belief, const std::vector<const Column*>& columns,
                                                    const infer::Narrowing& narrowing) const {
  const std::size_t healthy = groups_.back().first;
  std::vector<std::pair<double, std::size_t>> bearing;  // score, fault
  for (std::size_t g = 0; g + 1 < groups_.size(); ++g) {
    bool bears = false;
    double score = std::log(std::max(rates_[g].rate_per_year, infer::kSmallestRate));
    for (std::size_t c = 0; c < columns.size(); ++c) {
      if (!narrowing.is_known(g, c)) continue;
      double gain = 0.0;
      for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
        bears = bears || infer::differ(columns[c]->cells[r], columns[c]->cells[healthy], belief.readings[c].kind);
        gain = std::max(gain, narrowing.at(r, c) - narrowing.at(healthy, c));
      }
      score += gain;
    }
    if (bears) bearing.emplace_back(score, g);
  }
  std::stable_sort(bearing.begin(), bearing.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  if (bearing.size() > kMostPaired) bearing.resize(kMostPaired);
  std::vector<std::size_t> among;
  for (const auto& entry : bearing) among.push_back(entry.second);
  std::sort(among.begin(), among.end());
  return among;
}

// What is known of these faults alone. Where one was not looked at it is taken to show the healthy vehicle's.
infer::PairGuess BeliefEngine::guess_pairs(const Belief& belief, const std::vector<const Column*>& columns,
                                           const infer::Narrowing& narrowing,
                                           const std::vector<std::size_t>& among) const {
  const std::size_t healthy = groups_.back().first;
  std::vector<infer::FaultRate> rates;
  std::vector<infer::Row> rows;
  std::vector<std::pair<std::size_t, std::size_t>> places;  // group, row
  const auto add = [&](std::size_t g) {
    for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
      rows.push_back(rows_[r]);
      places.emplace_back(g, r);
    }
  };
  for (const std::size_t g : among) {
    rates.push_back(rates_[g]);
    add(g);
  }
  add(groups_.size() - 1);
  infer::LikelihoodTable likelihoods(rows.size());
  for (std::size_t c = 0; c < columns.size(); ++c) {
    const infer::Reading& reading = belief.readings[c];
    const double least =
        std::log(infer::wrong_share(reading.kind, noise_)) + std::log(infer::broad_density(reading, noise_));
    std::vector<double> line;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const auto [group, row] = places[i];
      const bool known = narrowing.is_known(group, c);
      line.push_back(known ? narrowing.at(row, c) : least);
    }
    likelihoods.add_column(std::move(line));
  }
  const auto shown = [&](std::size_t i, std::size_t c) -> const evidence::Prediction& {
    const auto [group, row] = places[i];
    return columns[c]->cells[narrowing.is_known(group, c) ? row : healthy];
  };
  return {rates, rows, shown, likelihoods, belief.readings, noise_};
}

void BeliefEngine::add_pairs(Belief& belief, const std::vector<Evidence>& evidence, const infer::Narrowing& narrowing,
                             const base::CancelToken& cancel) {
  std::vector<const Column*> columns;
  for (const Evidence& e : evidence) columns.push_back(&column(e));
  const std::vector<std::size_t> among = find_bearing(belief, columns, narrowing);
  if (among.size() < 2) return;
  const infer::PairGuess guess = guess_pairs(belief, columns, narrowing, among);
  infer::PairSearch search;
  search.faults = rates_;
  search.shares = shares_;
  search.readings = belief.readings;
  search.noise = noise_;
  search.among = among;
  search.guess = &guess;
  search.log_evidence_singles = belief.posterior.log_evidence;
  search.epsilon_of_estimate = kPairEstimate;
  search.budget = kPairBudget;
  search.keep = 1e-4;
  if (hands() > 1) search.ahead = [&](const Pairs& pairs) { predict_pairs(pairs, evidence); };
  const infer::PairsFound found = infer::explore_pairs(
      search, [&](std::size_t first, std::size_t second) { return predict_pair(first, second, evidence); }, cancel);
  infer::append_pairs(found, belief.rows, belief.table, belief.likelihoods);
  const double left_out = infer::log_sum_exp(found.log_left_out_bound, narrowing.log_left_out());
  belief.posterior = infer::compute_posterior(belief.rows, belief.likelihoods, {left_out});
  belief.pairs_evaluated = found.evaluated;
  belief.unexplored = std::min(1.0, found.share_left_bound + belief.unexplored);
}

// At which severities a pair is looked at.
std::vector<infer::PairRow> BeliefEngine::rows_of_pair(std::size_t first, std::size_t second) const {
  const auto quantiles = [&](std::size_t i) {
    return fault::has_range(loom_->universe.faults[i])
               ? std::vector<double>(std::begin(kPairQuantiles), std::end(kPairQuantiles))
               : std::vector<double>{0.5};
  };
  std::vector<infer::PairRow> rows;
  const std::vector<double> firsts = quantiles(first);
  const std::vector<double> seconds = quantiles(second);
  for (const double a : firsts)
    for (const double b : seconds) {
      infer::PairRow row;
      row.first_quantile = a;
      row.second_quantile = b;
      row.weight = 1.0 / static_cast<double>(firsts.size() * seconds.size());
      row.follows = !rows.empty() && (seconds.size() > 1 ? b != seconds.front() : a != firsts.front());
      rows.push_back(std::move(row));
    }
  return rows;
}

// What of these is not known yet, by whatever hands there are.
void BeliefEngine::predict_pairs(const Pairs& pairs, const std::vector<Evidence>& evidence) {
  std::vector<PairKey> keys;
  for (const auto& [first, second] : pairs)
    for (const infer::PairRow& row : rows_of_pair(first, second))
      keys.emplace_back(fault::FaultId(first), fault::FaultId(second), row.first_quantile, row.second_quantile);
  for (const Evidence& e : evidence) {
    Column& column = this->column(e);
    if (column.pairs.size() > kMostPairCells) column.pairs.clear();
    std::vector<predict::Case> cases;
    std::vector<PairKey> missing;
    for (const PairKey& key : keys) {
      if (column.pairs.contains(key)) continue;
      infer::Row as_row;
      std::tie(as_row.first, as_row.second, as_row.first_quantile, as_row.second_quantile) = key;
      cases.push_back(case_of(as_row, e.repaired));
      missing.push_back(key);
    }
    if (cases.empty()) continue;
    std::vector<evidence::Observable> whats{e.observation.what};
    std::vector<Column*> together{&column};
    for (const Evidence* other : read_together(e)) {
      whats.push_back(other->observation.what);
      together.push_back(&this->column(*other));
    }
    evidence::ResponseTable table = predict(cases, whats);
    for (std::size_t i = 0; i < missing.size(); ++i)
      for (std::size_t c = 0; c < together.size(); ++c) together[c]->pairs[missing[i]] = std::move(table.at(i, c));
  }
}

std::vector<infer::PairRow> BeliefEngine::predict_pair(std::size_t first, std::size_t second,
                                                       const std::vector<Evidence>& evidence) {
  const std::pair<std::size_t, std::size_t> pair(first, second);
  predict_pairs(Pairs(&pair, 1), evidence);
  std::vector<infer::PairRow> rows = rows_of_pair(first, second);
  for (const Evidence& e : evidence) {
    const Column& column = this->column(e);
    for (infer::PairRow& row : rows)
      row.cells.push_back(
          column.pairs.at({fault::FaultId(first), fault::FaultId(second), row.first_quantile, row.second_quantile}));
  }
  return rows;
}

}  // namespace halfsplit::app
