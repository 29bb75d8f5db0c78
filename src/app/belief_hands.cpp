// SPDX-License-Identifier: Apache-2.0
// Predictions by several pairs of hands, each with a campaign of its own, and those of tests that may come again: the
// same suspects and the same tests are asked after a look, an undo, a skip. What comes out depends on neither.
#include <algorithm>
#include <map>
#include <span>

#include "app/belief.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kMostHands = 8;       // each keeps benches of its own
constexpr std::size_t kWorthSharing = 512;  // cells
constexpr std::size_t kStretch = 16;        // cases
constexpr std::size_t kCellsWorthSharing = 2000;
constexpr std::size_t kBench = 8;           // a bench costs as much as so many tests
constexpr std::size_t kMostForecast = 300000;  // cells; some 150 bytes each

}  // namespace

std::size_t BeliefEngine::hands() {
  const std::size_t hands = workers_ == nullptr ? 1 : std::min(workers_->hands(), kMostHands);
  while (others_.size() + 1 < hands)
    others_.push_back(std::make_unique<predict::Campaign>(loom_->loom, loom_->netlist, loom_->universe, meter_));
  return hands;
}

// Each takes every so-manieth stretch of the cases: faults that follow one another are alike.
evidence::ResponseTable BeliefEngine::predict(const std::vector<predict::Case>& cases,
                                              const std::vector<evidence::Observable>& whats) {
  if (cases.size() < 2 * kStretch || cases.size() * whats.size() < kWorthSharing || hands() < 2) return campaign_.predict(cases, whats);
  const std::size_t count = hands();
  evidence::ResponseTable table(cases.size(), whats.size());
  workers_->run(count, [&](std::size_t hand) {
    std::vector<std::size_t> places;
    std::vector<predict::Case> own;
    for (std::size_t i = 0; i < cases.size(); ++i) {
      if (i / kStretch % count != hand) continue;
      places.push_back(i);
      own.push_back(cases[i]);
    }
    evidence::ResponseTable some = campaign_of(hand).predict(own, whats);
    for (std::size_t k = 0; k < places.size(); ++k)
      for (std::size_t w = 0; w < whats.size(); ++w) table.at(places[k], w) = std::move(some.at(k, w));
  });
  return table;
}

namespace {

// Whole configurations, the largest first, each to whoever has least so far: a bench is made for each. What would be
// more than half of a share is cut: of most vehicles the larger part of all tests is taken at work.
std::vector<std::vector<evidence::Observable>> share_out(const std::vector<evidence::Observable>& whats,
                                                         std::size_t count) {
  std::map<circuit::Configuration, std::vector<evidence::Observable>> by_configuration;
  for (const evidence::Observable& what : whats) by_configuration[what.configuration].push_back(what);
  const std::size_t most = whats.size() / (2 * count) + 1;
  std::vector<std::span<const evidence::Observable>> pieces;
  for (const auto& [configuration, its] : by_configuration)
    for (std::size_t at = 0; at < its.size(); at += most)
      pieces.push_back(std::span(its).subspan(at, std::min(most, its.size() - at)));
  std::stable_sort(pieces.begin(), pieces.end(), [](const auto& a, const auto& b) { return a.size() > b.size(); });
  std::vector<std::vector<evidence::Observable>> shares(count);
  std::vector<std::size_t> load(count, 0);
  for (const auto& piece : pieces) {
    const std::size_t hand = static_cast<std::size_t>(std::min_element(load.begin(), load.end()) - load.begin());
    shares[hand].insert(shares[hand].end(), piece.begin(), piece.end());
    load[hand] += piece.size() + kBench;
  }
  return shares;
}

}  // namespace

void BeliefEngine::add_forecast(const std::vector<predict::Case>& cases, const std::vector<evidence::Observable>& whats,
                                const base::CancelToken& cancel) {
  if (cases.empty() || whats.empty()) return;
  const std::size_t count = cases.size() * whats.size() < kCellsWorthSharing ? 1 : hands();
  const std::vector<std::vector<evidence::Observable>> shares = share_out(whats, count);
  std::vector<evidence::ResponseTable> tables(count, evidence::ResponseTable(0, 1));
  const auto work = [&](std::size_t hand) {
    if (!shares[hand].empty()) tables[hand] = campaign_of(hand).predict(cases, shares[hand], cancel);
  };
  if (count == 1)
    work(0);
  else
    workers_->run(count, work);
  if (cancel.cancelled()) return;  // cells not worked out must not stay
  for (std::size_t hand = 0; hand < count; ++hand)
    for (std::size_t w = 0; w < shares[hand].size(); ++w) {
      std::map<predict::Case, evidence::Prediction>& column = forecast_[shares[hand][w]];
      for (std::size_t c = 0; c < cases.size(); ++c)
        forecast_cells_ += column.insert_or_assign(cases[c], std::move(tables[hand].at(c, w))).second ? 1U : 0U;
    }
}

evidence::ResponseTable BeliefEngine::forecast(const std::vector<predict::Case>& cases,
                                               const std::vector<evidence::Observable>& whats,
                                               const base::CancelToken& cancel) {
  if (forecast_cells_ + cases.size() * whats.size() > kMostForecast) {
    forecast_.clear();
    forecast_cells_ = 0;
  }
  // Cases that no test knows go through all tests, the others through the tests that miss one of them.
  std::vector<predict::Case> fresh, known;
  std::vector<evidence::Observable> missing;
  const auto has = [&](const evidence::Observable& what, const predict::Case& which) {
    const auto column = forecast_.find(what);
    return column != forecast_.end() && column->second.contains(which);
  };
  for (const predict::Case& which : cases) {
    const bool met = std::any_of(whats.begin(), whats.end(), [&](const auto& what) { return has(what, which); });
    (met ? known : fresh).push_back(which);
  }
  for (const evidence::Observable& what : whats)
    if (!std::all_of(known.begin(), known.end(), [&](const predict::Case& which) { return has(what, which); }))
      missing.push_back(what);
  add_forecast(fresh, whats, cancel);
  add_forecast(known, missing, cancel);
  evidence::ResponseTable table(cases.size(), whats.size());
  for (std::size_t w = 0; w < whats.size(); ++w) {
    const auto column = forecast_.find(whats[w]);
    if (column == forecast_.end()) continue;  // cancelled
    for (std::size_t c = 0; c < cases.size(); ++c)
      if (const auto cell = column->second.find(cases[c]); cell != column->second.end()) table.at(c, w) = cell->second;
  }
  return table;
}

}  // namespace halfsplit::app
