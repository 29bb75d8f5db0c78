// SPDX-License-Identifier: Apache-2.0
// Bounds take a group's best row times the number of its rows: never below the sum, and only additions. View 0 counts
// every reading, view c + 1 all but reading c.
#include "infer/narrowing.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/check.h"
#include "infer/log_sum.h"

namespace halfsplit::infer {

namespace {

constexpr double kSetAside = 1e-7;         // share of belief that may be set aside
constexpr double kSetAsideWithout = 1e-3;  // the same with any one reading left out: only leaders count there
// What is looked at at all is pursued this far below (e^-8), so that the next reading finds it set aside.
constexpr double kMargin = 8.0;
constexpr std::size_t kAhead = 16;  // groups looked at everywhere at each step
constexpr double kTold = 0.01;      // a difference of chance that counts
constexpr std::size_t kFew = 200;
constexpr double kUnexplained = 0.5;  // a leader that gives a reading less than this share of chance

}  // namespace

std::vector<RowGroup> group_rows(std::span<const Row> rows) {
  std::vector<RowGroup> groups;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    if (groups.empty() || !same_hypothesis(rows[groups.back().first], rows[r])) groups.push_back({r, 0});
    ++groups.back().count;
  }
  return groups;
}

bool differ(const evidence::Prediction& one, const evidence::Prediction& other, evidence::Kind kind, double spreads) {
  const double told = kTold * spreads;
  if (one.components.size() != other.components.size() || one.settled != other.settled) return true;
  for (std::size_t i = 0; i < one.components.size(); ++i) {
    const evidence::Component& a = one.components[i];
    const evidence::Component& b = other.components[i];
    if (std::fabs(a.weight - b.weight) > told || a.over_range != b.over_range) return true;
    if (a.over_range) continue;
    if (evidence::is_numeric(kind)) {
      if (!(std::fabs(a.mean - b.mean) <= spreads * std::min(a.sigma, b.sigma))) return true;
      continue;
    }
    for (std::size_t k = 0; k < a.category.size(); ++k)
      if (std::fabs(static_cast<double>(a.category[k]) - static_cast<double>(b.category[k])) > told) return true;
  }
  return false;
}

// Of every view: the most each incomplete group can weigh, and what the complete ones do weigh.
struct Narrowing::Bounds {
  std::vector<std::size_t> incomplete;
  std::vector<std::vector<double>> most;  // by view, as `incomplete`
  std::vector<double> known;              // by view
  std::size_t complete = 0;
};

Narrowing::Narrowing(std::span<const Row> rows, std::span<const Reading> readings, const Noise& noise)
    : rows_(rows), groups_(group_rows(rows)), columns_(readings.size()) {
  for (const Reading& reading : readings) {
    log_peak_.push_back(std::log(peak_density(reading, noise)));
    log_broad_.push_back(std::log(broad_density(reading, noise)));
  }
  known_.assign(groups_.size() * columns_, 0);
  unknown_.assign(groups_.size(), columns_);
  pursued_.assign(groups_.size(), 0);
  likelihood_.assign(rows.size() * columns_, 0.0);
}

void Narrowing::set(std::size_t group, std::size_t column, std::span<const double> log_likelihoods) {
  HS_CHECK(group < groups_.size() && column < columns_ && log_likelihoods.size() == groups_[group].count,
           "one likelihood for each row of a group");
  char& known = known_[group * columns_ + column];
  if (known == 0) --unknown_[group];
  known = 1;
  for (std::size_t i = 0; i < log_likelihoods.size(); ++i)
    likelihood_[(groups_[group].first + i) * columns_ + column] = log_likelihoods[i];
}

Narrowing::Bounds Narrowing::compute_bounds() const {
  Bounds bounds;
  bounds.most.resize(columns_ + 1);
  std::vector<std::vector<double>> complete(columns_ + 1);
  std::vector<double> best(columns_ + 1);
  for (std::size_t g = 0; g < groups_.size(); ++g) {
    std::fill(best.begin(), best.end(), kLogOfNothing);
    double peaks = 0.0;
    for (std::size_t c = 0; c < columns_; ++c)
      if (!is_known(g, c)) peaks += log_peak_[c];
    for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
      double sum = rows_[r].log_prior + peaks;
      for (std::size_t c = 0; c < columns_; ++c) sum += at(r, c);  // 0 where not known
      best[0] = std::max(best[0], sum);
      for (std::size_t c = 0; c < columns_; ++c)
        best[c + 1] = std::max(best[c + 1], sum - (is_known(g, c) ? at(r, c) : log_peak_[c]));
    }
    const bool whole = is_complete(g);
    bounds.complete += whole ? 1U : 0U;
    if (!whole) bounds.incomplete.push_back(g);
    const double rows = std::log(static_cast<double>(groups_[g].count));
    for (std::size_t view = 0; view <= columns_; ++view)
      whole ? complete[view].push_back(best[view]) : bounds.most[view].push_back(best[view] + rows);
  }
  for (const std::vector<double>& masses : complete) bounds.known.push_back(log_sum_exp(masses));
  return bounds;
}

std::vector<std::vector<std::size_t>> Narrowing::next() {
  std::vector<std::vector<std::size_t>> asked(columns_);
  const Bounds bounds = compute_bounds();
  const std::size_t count = bounds.incomplete.size();
  // Each may be set aside that weighs less than its even share of what may be set aside.
  std::vector<char> wanted(count, 0);
  for (std::size_t view = 0; view <= columns_; ++view) {
    const double allowed = bounds.known[view] + std::log((view == 0 ? kSetAside : kSetAsideWithout) /
                                                         static_cast<double>(std::max<std::size_t>(count, 1)));
    for (std::size_t i = 0; i < count; ++i) {
      const double margin = pursued_[bounds.incomplete[i]] != 0 ? kMargin : 0.0;
      if (bounds.most[view][i] > allowed - margin) wanted[i] = 1;
    }
  }
  // The likeliest everywhere, since what they weigh sets the others aside; the others at one more reading.
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < count; ++i)
    if (wanted[i] != 0) order.push_back(i);
  if (order.empty()) {
    ask_unexplained(asked);
    return asked;
  }
  const std::vector<double>& most = bounds.most.front();
  const std::size_t ahead = std::min(kAhead, order.size());
  std::partial_sort(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(ahead), order.end(),
                    [&](std::size_t a, std::size_t b) { return most[a] != most[b] ? most[a] > most[b] : a < b; });
  for (std::size_t k = 0; k < ahead; ++k) wanted[order[k]] = 2;
  // While a few may still outweigh all that is known, these first.
  const auto leading = std::count_if(most.begin(), most.end(), [&](double m) { return m > bounds.known.front(); });
  const bool leaders_only = bounds.complete == 0 || (leading > 0 && leading <= static_cast<std::ptrdiff_t>(kFew));
  for (std::size_t i = 0; i < count; ++i)
    if (leaders_only && wanted[i] == 1 && (bounds.complete == 0 || most[i] <= bounds.known.front())) wanted[i] = 0;
  for (std::size_t i = 0; i < count; ++i)
    if (wanted[i] != 0) {
      pursued_[bounds.incomplete[i]] = 1;
      ask(bounds.incomplete[i], wanted[i] == 2, asked);
    }
  return asked;
}

void Narrowing::ask(std::size_t group, bool all, std::vector<std::vector<std::size_t>>& asked) const {
  for (std::size_t c = 0; c < columns_; ++c) {
    if (is_known(group, c)) continue;
    asked[c].push_back(group);
    if (!all) return;
  }
}

void Narrowing::ask_unexplained(std::vector<std::vector<std::size_t>>& asked) const {
  double best = kLogOfNothing;
  std::size_t leader = rows_.size();
  for (std::size_t g = 0; g < groups_.size(); ++g) {
    if (!is_complete(g) || is_not_drawn(rows_[groups_[g].first])) continue;
    for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
      double sum = rows_[r].log_prior;
      for (std::size_t c = 0; c < columns_; ++c) sum += at(r, c);
      if (sum > best) {
        best = sum;
        leader = r;
      }
    }
  }
  if (leader == rows_.size()) return;
  for (std::size_t c = 0; c < columns_; ++c) {
    if (at(leader, c) >= log_broad_[c] + std::log(kUnexplained)) continue;
    for (std::size_t g = 0; g < groups_.size(); ++g)
      if (!is_known(g, c)) asked[c].push_back(g);
  }
}

double Narrowing::log_left_out() const { return log_sum_exp(compute_bounds().most.front()); }

}  // namespace halfsplit::infer
