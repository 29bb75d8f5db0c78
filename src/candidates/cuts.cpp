// SPDX-License-Identifier: Apache-2.0
// The bits of a cut: I(repair; outcome) = sum over outcomes of the joint terms, so that cutting one outcome in two
// changes its own terms only. Taken greedily, the most telling cut first.
#include "candidates/cuts.h"

#include <algorithm>
#include <cmath>

namespace halfsplit::candidates {

namespace {

constexpr std::size_t kMostInGaps = 5;
constexpr double kLeastGap = 2.0;  // in spreads
constexpr std::size_t kMostCuts = 7;
constexpr double kLeastCutBits = 0.01;   // that a cut outside a gap tells more
constexpr double kAlike = 0.25;          // predictions nearer than this share of a spread have no cut between
constexpr std::size_t kMostPlaces = 32;  // looked at
constexpr double kFar = 6.0;             // in spreads: nothing to speak of beyond
constexpr double kLeastSpread = 1.0e-12;

double place_between(const Lump& a, const Lump& b) {
  const double own = std::max(a.sigma, kLeastSpread);
  return a.mean + (b.mean - a.mean) * own / (own + std::max(b.sigma, kLeastSpread));
}

std::vector<Cut> cuts_in_gaps(const std::vector<Lump>& lumps, double total) {
  std::vector<std::pair<double, double>> scored;  // score, place
  double left = 0.0;
  for (std::size_t i = 0; i + 1 < lumps.size(); ++i) {
    left += lumps[i].weight;
    const double spread = lumps[i].sigma + lumps[i + 1].sigma;
    const double gap = (lumps[i + 1].mean - lumps[i].mean) / std::max(spread, kLeastSpread);
    if (gap < kLeastGap) continue;
    const double share = std::min(left, total - left) / total;
    scored.emplace_back(share * std::min(1.0, gap / 6.0), place_between(lumps[i], lumps[i + 1]));
  }
  std::stable_sort(scored.begin(), scored.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  if (scored.size() > kMostInGaps) scored.resize(kMostInGaps);
  std::vector<Cut> cuts;
  for (const auto& [score, at] : scored) cuts.push_back({at, true});
  return cuts;
}

// Between neighbours that are not alike; thinned out evenly by belief where there are many.
std::vector<double> places_between(const std::vector<Lump>& lumps, double total) {
  std::vector<std::pair<double, double>> places;  // belief below, place
  double below = 0.0;
  for (std::size_t i = 0, first = 0; i + 1 < lumps.size(); ++i) {
    below += lumps[i].weight;
    const double near = kAlike * std::max(lumps[first].sigma, lumps[i + 1].sigma);
    if (lumps[i + 1].mean - lumps[first].mean <= near) continue;
    places.emplace_back(below, place_between(lumps[i], lumps[i + 1]));
    first = i + 1;
  }
  std::vector<double> kept;
  double next = 0.0;
  for (const auto& [so_far, at] : places) {
    if (places.size() > kMostPlaces && so_far < next) continue;
    kept.push_back(at);
    next = so_far + total / static_cast<double>(kMostPlaces);
  }
  return kept;
}

// Belief below each place, by what mends it.
class Splitter {
 public:
  Splitter(const std::vector<Lump>& lumps, std::vector<Cut>& cuts, double total) : cuts_(cuts), total_(total) {
    for (const Lump& lump : lumps) repairs_ = std::max(repairs_, lump.repair + 1);
    for (const double at : places_between(lumps, total)) places_.push_back({at, false});
    for (const Cut& cut : cuts) places_.push_back({cut.at, true});
    std::stable_sort(places_.begin(), places_.end(), [](const Place& a, const Place& b) { return a.at < b.at; });
    below_.assign((places_.size() + 2) * repairs_, 0.0);  // of minus infinity, the places, infinity
    for (const Lump& lump : lumps) {
      for (std::size_t p = 0; p < places_.size(); ++p)
        below_[(p + 1) * repairs_ + lump.repair] += lump.weight * share_below(places_[p].at, lump.mean, lump.sigma);
      below_[(places_.size() + 1) * repairs_ + lump.repair] += lump.weight;
    }
  }

  void add_telling() {
    while (cuts_.size() < kMostCuts) {
      const std::size_t best = most_telling();
      if (best == places_.size()) return;
      places_[best].taken = true;
      cuts_.push_back({places_[best].at, false});
    }
  }

 private:
  struct Place {
    double at;
    bool taken;
  };

  // Of the belief between two rows of below_: the sum of x log2 x by repair, less that of the whole.
  [[nodiscard]] double terms(std::size_t from, std::size_t to) const {
    double whole = 0.0;
    double sum = 0.0;
    for (std::size_t r = 0; r < repairs_; ++r) {
      const double mass = below_[to * repairs_ + r] - below_[from * repairs_ + r];
      if (mass <= 0.0) continue;
      whole += mass;
      sum += mass * std::log2(mass);
    }
    return whole > 0.0 ? sum - whole * std::log2(whole) : 0.0;
  }

  // The number of places when none tells enough.
  [[nodiscard]] std::size_t most_telling() const {
    std::size_t best = places_.size();
    double most = kLeastCutBits * total_;
    std::size_t from = 0;
    for (std::size_t p = 0; p < places_.size(); ++p) {
      if (places_[p].taken) {
        from = p + 1;
        continue;
      }
      std::size_t to = p + 1;
      while (to < places_.size() && !places_[to].taken) ++to;
      const double bits = terms(from, p + 1) + terms(p + 1, to + 1) - terms(from, to + 1);
      if (bits <= most) continue;
      most = bits;
      best = p;
    }
    return best;
  }

  std::vector<Cut>& cuts_;
  double total_;
  std::size_t repairs_ = 0;
  std::vector<Place> places_;
  std::vector<double> below_;
};

}  // namespace

double share_below(double place, double mean, double sigma) {
  if (std::isinf(place)) return place > 0.0 ? 1.0 : 0.0;
  const double z = (place - mean) / std::max(sigma, kLeastSpread);
  if (std::abs(z) > kFar) return z > 0.0 ? 1.0 : 0.0;
  return 0.5 * std::erfc(-z / std::sqrt(2.0));
}

std::vector<Cut> find_cuts(const std::vector<Lump>& lumps) {
  double total = 0.0;
  for (const Lump& lump : lumps) total += lump.weight;
  std::vector<Cut> cuts;
  if (!(total > 0.0)) return cuts;
  cuts = cuts_in_gaps(lumps, total);
  Splitter(lumps, cuts, total).add_telling();
  std::sort(cuts.begin(), cuts.end(), [](const Cut& a, const Cut& b) { return a.at < b.at; });
  return cuts;
}

}  // namespace halfsplit::candidates
