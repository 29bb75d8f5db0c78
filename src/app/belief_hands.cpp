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
constexpr std::size_t kBench = 8;              // tests: what a bench and putting a fault in cost as well
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
  if (cases.size() < 2 * kStretch || cases.size() * whats.size() < kWorthSharing || hands() < 2)
    return campaign_.predict(cases, whats);
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

// Some cases by all tests of one configuration.
struct Piece {
  std::span<const predict::Case> cases;
  std::vector<evidence::Observable> whats;
  evidence::ResponseTable table{0, 1};
};

// Each configuration is a piece, as a bench is made for each. One that is more than half of a share is cut by its
// cases: of most vehicles the larger part of all tests is taken at work. It is not cut by its tests: what is asked of a
// fault before may have a say in the last bit of what follows.
std::vector<Piece> cut_up(std::span<const predict::Case> cases, const std::vector<evidence::Observable>& whats,
                          std::size_t hands) {
  std::map<circuit::Configuration, std::vector<evidence::Observable>> by_configuration;
  for (const evidence::Observable& what : whats) by_configuration[what.configuration].push_back(what);
  const std::size_t half_share = whats.size() / (2 * hands) + 1;
  std::vector<Piece> pieces;
  for (const auto& [configuration, its] : by_configuration) {
    const std::size_t parts = hands == 1 ? 1 : std::min((its.size() - 1) / half_share + 1, cases.size());
    for (std::size_t part = 0; part < parts; ++part) {
      const std::size_t from = part * cases.size() / parts;
      pieces.push_back({cases.subspan(from, (part + 1) * cases.size() / parts - from), its});
    }
  }
  return pieces;
}

// The largest first, each to whoever has least so far.
std::vector<std::vector<Piece*>> share_out(std::vector<Piece>& pieces, std::size_t hands) {
  std::vector<std::pair<std::size_t, Piece*>> order;
  for (Piece& piece : pieces) order.emplace_back(piece.cases.size() * (piece.whats.size() + kBench), &piece);
  std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<std::vector<Piece*>> shares(hands);
  std::vector<std::size_t> load(hands, 0);
  for (const auto& [cost, piece] : order) {
    const auto hand = static_cast<std::size_t>(std::min_element(load.begin(), load.end()) - load.begin());
    shares[hand].push_back(piece);
    load[hand] += cost;
  }
  return shares;
}

}  // namespace

void BeliefEngine::add_forecast(const std::vector<predict::Case>& cases, const std::vector<evidence::Observable>& whats,
                                const base::CancelToken& cancel) {
  if (cases.empty() || whats.empty()) return;
  const std::size_t count = cases.size() * whats.size() < kCellsWorthSharing ? 1 : hands();
  std::vector<Piece> pieces = cut_up(cases, whats, count);
  const std::vector<std::vector<Piece*>> shares = share_out(pieces, count);
  const auto work = [&](std::size_t hand) {
    for (Piece* piece : shares[hand])
      piece->table = campaign_of(hand).predict({piece->cases.begin(), piece->cases.end()}, piece->whats, cancel);
  };
  if (count == 1)
    work(0);
  else
    workers_->run(count, work);
  if (cancel.cancelled()) return;  // cells not worked out must not stay
  for (Piece& piece : pieces)
    for (std::size_t w = 0; w < piece.whats.size(); ++w) {
      std::map<predict::Case, evidence::Prediction>& column = forecast_[piece.whats[w]];
      for (std::size_t c = 0; c < piece.cases.size(); ++c)
        forecast_cells_ += column.insert_or_assign(piece.cases[c], std::move(piece.table.at(c, w))).second ? 1U : 0U;
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
