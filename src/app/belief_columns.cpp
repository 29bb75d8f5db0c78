// SPDX-License-Identifier: Apache-2.0
// What the hypotheses show at each piece of evidence: worked out where it can matter, kept for the next reading.
#include <algorithm>
#include <cmath>
#include <span>

#include "app/belief.h"

namespace halfsplit::app {

namespace {

constexpr double kNothingShown = 0.05;    // of a spread
constexpr double kNothingMoved = 1.0e-3;  // of a spread
constexpr std::size_t kMostWeighed = 8;   // readings of one observable whose likelihoods are kept

}  // namespace

BeliefEngine::Column& BeliefEngine::column(const Evidence& e) {
  const auto key = std::make_pair(e.observation.what, e.repaired);
  const auto found = columns_.find(key);
  if (found != columns_.end()) return found->second;
  Column& fresh = columns_[key];
  fresh.cells.resize(rows_.size());
  fresh.known.assign(groups_.size(), 0);
  return fresh;
}

std::vector<double>& BeliefEngine::weighed(Column& column, const infer::Reading& reading) const {
  for (auto& [what, log_likelihoods] : column.weighed)
    if (what.seen == reading.seen && what.before == reading.before) return log_likelihoods;
  if (column.weighed.size() >= kMostWeighed) column.weighed.erase(column.weighed.begin());
  column.weighed.emplace_back(reading, std::vector<double>(rows_.size(), std::nan("")));
  return column.weighed.back().second;
}

// A fault that shows nothing here at the least, the middle and the worst of its severities shows nothing at any. Where
// neither end moves a thing the middle lies between them: a reading runs one way with one value, as long as no state
// moves.
void BeliefEngine::predict_groups(const Evidence& e, const std::vector<std::size_t>& groups, Column& column) {
  const std::size_t healthy = groups_.size() - 1;
  std::vector<std::size_t> fresh;
  for (const std::size_t g : groups)
    if (column.known[g] == 0) fresh.push_back(g);
  if (column.known[healthy] == 0) predict_rows(e, {groups_[healthy].first}, column);
  column.known[healthy] = 1;
  std::erase(fresh, healthy);
  const evidence::Prediction& shown = column.cells[groups_[healthy].first];
  const auto shows = [&](std::size_t r, double spreads) {
    return infer::differ(column.cells[r], shown, e.observation.what.kind, spreads);
  };
  const auto least = [&](std::size_t g) { return groups_[g].first; };
  const auto middle = [&](std::size_t g) { return groups_[g].first + groups_[g].count / 2; };
  const auto worst = [&](std::size_t g) { return groups_[g].first + groups_[g].count - 1; };
  std::vector<std::size_t> rows;
  for (const std::size_t g : fresh) {
    rows.push_back(least(g));
    if (worst(g) != least(g)) rows.push_back(worst(g));
  }
  predict_rows(e, rows, column);
  rows.clear();
  std::vector<char> still(fresh.size(), 0);
  for (std::size_t i = 0; i < fresh.size(); ++i) {
    const std::size_t g = fresh[i];
    still[i] = rates_.at(g).cuts.empty() && !shows(least(g), kNothingMoved) && !shows(worst(g), kNothingMoved) ? 1 : 0;
    if (still[i] == 0 && groups_[g].count > 2) rows.push_back(middle(g));
  }
  predict_rows(e, rows, column);
  rows.clear();
  for (std::size_t i = 0; i < fresh.size(); ++i) {
    const std::size_t g = fresh[i];
    column.known[g] = 1;
    const bool looked = still[i] == 0;  // at the middle
    const bool shows_nothing = !looked || (rates_.at(g).cuts.empty() && !shows(least(g), kNothingShown) &&
                                           !shows(middle(g), kNothingShown) && !shows(worst(g), kNothingShown));
    for (std::size_t r = least(g) + 1; r < worst(g); ++r) {
      if (looked && r == middle(g)) continue;
      if (shows_nothing)
        column.cells[r] = column.cells[looked ? middle(g) : worst(g)];
      else
        rows.push_back(r);
    }
  }
  predict_rows(e, rows, column);
}

std::vector<const Evidence*> BeliefEngine::read_together(const Evidence& e) const {
  std::vector<const Evidence*> others;
  const evidence::Observable& what = e.observation.what;
  if (looking_at_ == nullptr) return others;
  for (const Evidence& other : *looking_at_) {
    const evidence::Observable& its = other.observation.what;
    const bool there =
        std::any_of(others.begin(), others.end(), [&](const Evidence* one) { return one->observation.what == its; });
    if (!there && its != what && its.configuration == what.configuration && other.repaired == e.repaired)
      others.push_back(&other);
  }
  return others;
}

void BeliefEngine::predict_rows(const Evidence& e, const std::vector<std::size_t>& rows, Column& column) {
  std::vector<std::size_t> fresh;
  std::vector<predict::Case> cases;
  for (const std::size_t r : rows) {
    const auto ahead = column.ahead.find(r);
    if (ahead == column.ahead.end()) {
      fresh.push_back(r);
      cases.push_back(case_of(rows_[r], e.repaired));
    } else {
      column.cells[r] = std::move(ahead->second);
      column.ahead.erase(ahead);
    }
  }
  if (fresh.empty()) return;
  const auto group_of = [&](std::size_t row) {
    return static_cast<std::size_t>(
        std::upper_bound(groups_.begin(), groups_.end(), row,
                         [](std::size_t r, const infer::RowGroup& group) { return r < group.first; }) -
        groups_.begin() - 1);
  };
  std::vector<evidence::Observable> whats{e.observation.what};
  std::vector<Column*> others;
  for (const Evidence* other : read_together(e)) {
    Column& its = this->column(*other);
    if (its.known[group_of(fresh.front())] != 0) continue;
    whats.push_back(other->observation.what);
    others.push_back(&its);
  }
  evidence::ResponseTable table = predict(cases, whats);
  for (std::size_t i = 0; i < fresh.size(); ++i) {
    column.cells[fresh[i]] = std::move(table.at(i, 0));
    for (std::size_t o = 0; o < others.size(); ++o)
      if (others[o]->known[group_of(fresh[i])] == 0) others[o]->ahead[fresh[i]] = std::move(table.at(i, o + 1));
  }
}

// Predicts what is not known of these groups, weighs what is not weighed, and tells the narrowing.
void BeliefEngine::look(const Evidence& e, const infer::Reading& reading, const std::vector<std::size_t>& groups,
                        infer::Narrowing& narrowing, std::size_t at) {
  Column& column = this->column(e);
  predict_groups(e, groups, column);
  std::vector<double>& likelihoods = weighed(column, reading);
  std::vector<infer::Row> rows;
  std::vector<std::size_t> places;
  for (const std::size_t g : groups)
    for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
      if (!std::isnan(likelihoods[r])) continue;
      rows.push_back(rows_[r]);
      places.push_back(r);
    }
  evidence::ResponseTable table(rows.size(), 1);
  for (std::size_t i = 0; i < places.size(); ++i) table.at(i, 0) = std::move(column.cells[places[i]]);
  const std::vector<double> weights = infer::compute_column(rows, table, 0, reading, noise_);
  for (std::size_t i = 0; i < places.size(); ++i) {
    column.cells[places[i]] = std::move(table.at(i, 0));
    likelihoods[places[i]] = weights[i];
  }
  for (const std::size_t g : groups)
    narrowing.set(g, at, std::span<const double>(likelihoods).subspan(groups_[g].first, groups_[g].count));
}

void BeliefEngine::narrow(const std::vector<Evidence>& evidence, infer::Narrowing& narrowing, const Belief& belief,
                          const base::CancelToken& cancel) {
  // Begun anew each time, from the healthy vehicle: what happens to be worked out already may save time, but has no say
  // in which faults are looked at, or the same question would have two answers.
  for (std::size_t c = 0; c < evidence.size(); ++c)
    look(evidence[c], belief.readings[c], {groups_.size() - 1}, narrowing, c);
  for (bool more = true; more && !cancel.cancelled();) {
    const std::vector<std::vector<std::size_t>> asked = narrowing.next();
    more = false;
    for (std::size_t c = 0; c < asked.size(); ++c) {
      more = more || !asked[c].empty();
      if (!asked[c].empty()) look(evidence[c], belief.readings[c], asked[c], narrowing, c);
    }
  }
}

// Rows, predictions and likelihoods of what was looked at everywhere.
void BeliefEngine::collect(const std::vector<Evidence>& evidence, const infer::Narrowing& narrowing, Belief& belief) {
  std::vector<std::size_t> places;
  for (std::size_t g = 0; g < groups_.size(); ++g)
    for (std::size_t r = groups_[g].first; narrowing.is_complete(g) && r < groups_[g].first + groups_[g].count; ++r) {
      places.push_back(r);
      belief.rows.push_back(rows_[r]);
    }
  belief.table = evidence::ResponseTable(places.size(), evidence.size());
  belief.likelihoods = infer::LikelihoodTable(places.size());
  for (std::size_t c = 0; c < evidence.size(); ++c) {
    const Column& column = this->column(evidence[c]);
    std::vector<double> likelihoods;
    for (std::size_t i = 0; i < places.size(); ++i) {
      belief.table.at(i, c) = column.cells[places[i]];
      likelihoods.push_back(narrowing.at(places[i], c));
    }
    belief.likelihoods.add_column(std::move(likelihoods));
  }
}

}  // namespace halfsplit::app
