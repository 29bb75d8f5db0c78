// SPDX-License-Identifier: Apache-2.0
// Order comes from pair_guess.h. The bound: whatever a pair shows, no reading is worth more than peak_density. Hence
// everything not yet predicted weighs at most (its prior mass) * (product of the peaks).
//
// A heap of the best `budget` pairs is filled in one sweep over all pairs; what falls out of it is added up on the
// spot, so neither the prior mass left nor the estimate is ever formed by subtraction.
#include "infer/pairs.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "base/check.h"
#include "infer/log_sum.h"

namespace halfsplit::infer {

namespace {

struct Candidate {
  double guess = 0.0;  // logarithm of prior times optimistic likelihood
  std::uint32_t first = 0, second = 0;
};

// Strict order: better guess first, then by position, so that ties do not depend on the heap.
bool comes_before(const Candidate& a, const Candidate& b) {
  if (a.guess != b.guess) return a.guess > b.guess;
  return std::pair(a.first, a.second) < std::pair(b.first, b.second);
}

struct Sweep {
  std::vector<Candidate> best;      // in order
  CompensatedSum prior_outside;     // of the pairs that are not in `best`
  CompensatedSum estimate_outside;  // prior times guess, relative to the evidence of the singles
  bool cancelled = false;
};

class Sweeper {
 public:
  Sweeper(const PairSearch& search, const PairPrior& prior) : search_(search), prior_(prior) {}

  Sweep run(const base::CancelToken& cancel) {
    const std::size_t count = search_.guess->faults();
    for (std::size_t i = 0; i < count; ++i) {
      if (cancel.cancelled()) return given_up();
      for (std::size_t j = i + 1; j < count; ++j) {
        const std::size_t a = position(i);
        const std::size_t b = position(j);
        take({search_.guess->log_likelihood(i, j) + prior_.log_prior(a, b), static_cast<std::uint32_t>(a),
              static_cast<std::uint32_t>(b)});
      }
    }
    std::sort_heap(sweep_.best.begin(), sweep_.best.end(), comes_before);
    if (!search_.among.empty()) add_others();
    return std::move(sweep_);
  }

  void leave_out(const Candidate& pair) {
    sweep_.prior_outside.add(std::exp(prior_.log_prior(pair.first, pair.second)));
    sweep_.estimate_outside.add(relative(pair));
  }
  [[nodiscard]] double relative(const Candidate& pair) const {
    return std::exp(std::min(pair.guess - search_.log_evidence_singles, 600.0));
  }

 private:
  // In `faults`, of a position of the guess.
  [[nodiscard]] std::size_t position(std::size_t i) const { return search_.among.empty() ? i : search_.among[i]; }

  // Pairs of one of `among` with another fault, and of two others: each shows what the one, or nothing, shows.
  void add_others() {
    std::vector<char> paired(search_.faults.size(), 0);
    for (const std::size_t a : search_.among) paired[a] = 1;
    CompensatedSum others, products;  // of the rates, relative to the scale of the prior
    for (std::size_t i = 0; i < paired.size(); ++i) {
      if (paired[i] != 0) continue;
      products.add(others.value() * prior_.rate(i));
      others.add(prior_.rate(i));
    }
    const auto add = [&](double mass, double log_guess) {
      sweep_.prior_outside.add(mass);
      sweep_.estimate_outside.add(mass * std::exp(std::min(log_guess - search_.log_evidence_singles, 600.0)));
    };
    for (std::size_t i = 0; i < search_.among.size(); ++i)
      add(prior_.scale() * prior_.rate(search_.among[i]) * others.value(), search_.guess->log_likelihood_alone(i));
    add(prior_.scale() * products.value(), search_.guess->log_likelihood_of_none());
  }

  // Nothing is known but that the pairs together have their prior mass.
  Sweep given_up() const {
    Sweep sweep;
    sweep.prior_outside.add(prior_.total());
    sweep.cancelled = true;
    return sweep;
  }

  // A heap whose front is the worst of the best.
  void take(const Candidate& pair) {
    std::vector<Candidate>& best = sweep_.best;
    const bool full = best.size() >= search_.budget;
    if (full && (best.empty() || !comes_before(pair, best.front()))) return leave_out(pair);
    if (full) {
      leave_out(best.front());
      std::pop_heap(best.begin(), best.end(), comes_before);
      best.pop_back();
    }
    best.push_back(pair);
    std::push_heap(best.begin(), best.end(), comes_before);
  }

  const PairSearch& search_;
  const PairPrior& prior_;
  Sweep sweep_;
};

double log_of_peaks(const PairSearch& search) {
  double sum = 0.0;
  for (const Reading& reading : search.readings) sum += std::log(peak_density(reading, search.noise));
  return sum;
}

// What is left from each place of the order on: masses of best[k..] and of everything outside.
struct Left {
  std::vector<double> prior;
  std::vector<double> estimate;
};

Left compute_left(const Sweep& sweep, const Sweeper& sweeper, const PairPrior& prior) {
  const std::size_t count = sweep.best.size();
  Left left{std::vector<double>(count + 1), std::vector<double>(count + 1)};
  CompensatedSum mass = sweep.prior_outside;
  CompensatedSum estimate = sweep.estimate_outside;
  for (std::size_t k = count + 1; k-- > 0;) {
    left.prior[k] = mass.value();
    left.estimate[k] = estimate.value();
    if (k == 0) break;
    mass.add(std::exp(prior.log_prior(sweep.best[k - 1].first, sweep.best[k - 1].second)));
    estimate.add(sweeper.relative(sweep.best[k - 1]));
  }
  return left;
}

// Predicts one pair after the other and keeps what counts.
class Explorer {
 public:
  Explorer(const PairSearch& search, const PairPrior& prior, const PredictPair& predict)
      : search_(search), prior_(prior), predict_(predict), log_explored_(search.log_evidence_singles) {
    found_.likelihoods = LikelihoodTable(0);
    for (std::size_t c = 0; c < search.readings.size(); ++c) found_.likelihoods.add_column({});
  }

  void evaluate(const Candidate& pair) {
    const std::vector<PairRow> replies = predict_(pair.first, pair.second);
    ++found_.evaluated;
    if (replies.empty()) return;
    const std::vector<Row> rows = rows_of(pair, replies);
    const evidence::ResponseTable table = table_of(replies);
    const LikelihoodTable likelihoods = compute_likelihoods(rows, table, search_.readings, search_.noise);
    const double mass = log_sum_exp(log_joint(rows, likelihoods));
    log_explored_ = log_sum_exp(log_explored_, mass);
    if (mass < log_explored_ + std::log(search_.keep)) {
      log_dropped_ = log_sum_exp(log_dropped_, mass);
      return;
    }
    keep(rows, replies, likelihoods);
  }

  [[nodiscard]] double log_explored() const { return log_explored_; }
  [[nodiscard]] double log_dropped() const { return log_dropped_; }
  [[nodiscard]] PairsFound& found() { return found_; }

 private:
  std::vector<Row> rows_of(const Candidate& pair, const std::vector<PairRow>& replies) const {
    std::vector<Row> rows(replies.size());
    for (std::size_t k = 0; k < replies.size(); ++k) {
      HS_CHECK(replies[k].cells.size() == search_.readings.size(), "a pair is predicted at every reading");
      rows[k].first = search_.faults[pair.first].fault;
      rows[k].second = search_.faults[pair.second].fault;
      rows[k].first_quantile = replies[k].first_quantile;
      rows[k].second_quantile = replies[k].second_quantile;
      rows[k].quantile_weight = replies[k].weight;
      rows[k].log_prior = prior_.log_prior(pair.first, pair.second) + std::log(replies[k].weight);
      rows[k].follows = replies[k].follows;
    }
    return rows;
  }

  evidence::ResponseTable table_of(const std::vector<PairRow>& replies) const {
    evidence::ResponseTable table(replies.size(), search_.readings.size());
    for (std::size_t k = 0; k < replies.size(); ++k)
      for (std::size_t c = 0; c < search_.readings.size(); ++c) table.at(k, c) = replies[k].cells[c];
    return table;
  }

  void keep(const std::vector<Row>& rows, const std::vector<PairRow>& replies, const LikelihoodTable& likelihoods) {
    std::vector<double> line(search_.readings.size());
    for (std::size_t k = 0; k < rows.size(); ++k) {
      for (std::size_t c = 0; c < line.size(); ++c) line[c] = likelihoods.at(k, c);
      found_.rows.push_back(rows[k]);
      found_.cells.push_back(replies[k].cells);
      found_.likelihoods.append_row(line);
    }
  }

  const PairSearch& search_;
  const PairPrior& prior_;
  const PredictPair& predict_;
  double log_explored_;
  double log_dropped_ = kLogOfNothing;
  PairsFound found_;
};

constexpr std::size_t kFirstAhead = 4;  // pairs told ahead, doubled each time: few searches go far
constexpr std::size_t kMostAhead = 32;

// Tells the pairs to come, some at a time.
class Ahead {
 public:
  Ahead(const PairsAhead& tell, const std::vector<Candidate>& order) : tell_(tell), order_(order) {}

  void look(std::size_t done) {
    if (!tell_ || done < told_) return;
    const std::size_t end = std::min(order_.size(), done + step_);
    std::vector<std::pair<std::size_t, std::size_t>> pairs;
    for (; told_ < end; ++told_) pairs.emplace_back(order_[told_].first, order_[told_].second);
    tell_(pairs);
    step_ = std::min(2 * step_, kMostAhead);
  }

 private:
  const PairsAhead& tell_;
  const std::vector<Candidate>& order_;
  std::size_t told_ = 0, step_ = kFirstAhead;
};

double share(double log_part, double log_rest) { return std::exp(log_part - log_sum_exp(log_part, log_rest)); }

}  // namespace

PairsFound explore_pairs(const PairSearch& search, const PredictPair& predict, const base::CancelToken& cancel) {
  HS_CHECK(search.guess != nullptr &&
               search.guess->faults() == (search.among.empty() ? search.faults.size() : search.among.size()) &&
               search.guess->columns() == search.readings.size(),
           "the guess is for these faults and readings");
  const PairPrior prior(search.faults, search.shares);
  Explorer explorer(search, prior, predict);
  PairsFound& found = explorer.found();
  found.log_left_out_bound = kLogOfNothing;
  const std::size_t faults = search.faults.size();
  if (prior.total() <= 0.0) return std::move(found);
  found.possible = faults * (faults - 1) / 2;

  Sweeper sweeper(search, prior);
  const Sweep sweep = sweeper.run(cancel);
  const Left left = compute_left(sweep, sweeper, prior);
  const double log_peaks = log_of_peaks(search);
  const auto bound_at = [&](std::size_t k) { return std::log(left.prior[k]) + log_peaks; };
  const auto estimate_at = [&](std::size_t k) { return std::log(left.estimate[k]) + search.log_evidence_singles; };
  std::size_t done = 0;
  Ahead ahead(search.ahead, sweep.best);
  for (; done < sweep.best.size(); ++done) {
    found.cancelled = cancel.cancelled();
    if (found.cancelled || share(bound_at(done), explorer.log_explored()) <= search.epsilon) break;
    if (share(estimate_at(done), explorer.log_explored()) < search.epsilon_of_estimate) break;
    ahead.look(done);
    explorer.evaluate(sweep.best[done]);
  }
  found.cancelled = found.cancelled || sweep.cancelled;
  found.prior_left = left.prior[done];
  found.log_left_out_bound = log_sum_exp(bound_at(done), explorer.log_dropped());
  found.share_left_bound = share(bound_at(done), explorer.log_explored());
  found.share_left_estimate =
      sweep.cancelled ? found.share_left_bound : share(estimate_at(done), explorer.log_explored());
  return std::move(found);
}

void append_pairs(const PairsFound& found, std::vector<Row>& rows, evidence::ResponseTable& table,
                  LikelihoodTable& likelihoods) {
  evidence::ResponseTable joined(rows.size() + found.rows.size(), table.columns());
  for (std::size_t r = 0; r < rows.size(); ++r)
    for (std::size_t c = 0; c < table.columns(); ++c) joined.at(r, c) = std::move(table.at(r, c));
  std::vector<double> line(table.columns());
  for (std::size_t k = 0; k < found.rows.size(); ++k) {
    for (std::size_t c = 0; c < table.columns(); ++c) {
      joined.at(rows.size(), c) = found.cells[k][c];
      line[c] = found.likelihoods.at(k, c);
    }
    rows.push_back(found.rows[k]);
    likelihoods.append_row(line);
  }
  table = std::move(joined);
}

}  // namespace halfsplit::infer
