// SPDX-License-Identifier: Apache-2.0
// Of each moment, the earlier reading that came from it most surely says which of its components the vehicle has and
// what it gives. As far as no earlier reading came from a moment, its components are as at first.
#include "infer/read_again.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "infer/robust_normal.h"

namespace halfsplit::infer {

namespace {

using evidence::Component;
using evidence::Kind;
using evidence::Prediction;
using evidence::Seen;

constexpr double kSameWord = 0.9;      // a word seen is seen again, else drawn anew: what stands on the border of two
constexpr double kSteadyBeyond = 0.7;  // share of what is not drawn that does not come and go

// Each time a thing of its own.
bool is_chancy(Kind kind) { return evidence::provokes(kind) || kind == Kind::kQuiet; }

// Of a number, where the same was shown before: by the instrument alone, so that a repeat says the same of all.
double repeated(const Reading& reading, const Seen& before, const Seen& now) {
  if (now.over_range || before.over_range) return now.over_range == before.over_range ? 1.0 : 0.0;
  const double instrument = smallest_sigma({reading.kind, before, reading.scale});
  return robust_normal(now.value, before.value, std::numbers::sqrt2 * instrument);
}

double density_of(const Spread& s, double x) {
  if (s.down == 0.0 && s.up == 0.0) return robust_normal(x, s.mean, s.sigma);
  return 0.5 * robust_normal_between(x, s.mean, s.mean + s.down, s.sigma) +
         0.5 * robust_normal_between(x, s.mean, s.mean + s.up, s.sigma);
}

class Again {
 public:
  Again(const Prediction& prediction, std::span<const Spread> spreads, const Reading& reading, const Noise& noise,
        const Levels& levels)
      : prediction_(prediction), spreads_(spreads), reading_(reading), levels_(levels) {
    numbers_ = evidence::is_numeric(reading.kind);
    for (const Component& c : prediction.components) no_rest_ -= c.weight;
    if (!prediction.settled || no_rest_ < 1.0e-9) no_rest_ = 0.0;
    for (const Before& before : reading.before)
      broad_.push_back(broad_density({reading.kind, before.seen, reading.scale}, noise));
  }

  double run() const {
    double density = no_rest_ * levels_.broad;
    for (std::size_t i = 0; i < components().size(); ++i)
      if (is_first_of_moment(i)) density += of_moment(components()[i].moment);
    return density;
  }

 private:
  const std::vector<Component>& components() const { return prediction_.components; }

  bool is_first_of_moment(std::size_t i) const {
    return std::none_of(components().begin(), components().begin() + static_cast<std::ptrdiff_t>(i),
                        [&](const Component& c) { return c.moment == components()[i].moment; });
  }

  // Of one component by itself, without its weight.
  double alone(std::size_t i, const Seen& seen, double broad) const {
    const Component& c = components()[i];
    if (!numbers_)
      return std::clamp(static_cast<double>(c.category[static_cast<std::size_t>(seen.category)]), 0.0, 1.0);
    if (c.over_range) return seen.over_range ? 1.0 : 0.0;
    if (!std::isfinite(c.mean) || !std::isfinite(c.sigma)) return broad;
    return seen.over_range ? 0.0 : density_of(spreads_[i], seen.value);
  }

  // The same, where it showed the k-th earlier reading.
  double after(std::size_t i, std::size_t k) const {
    const Seen& now = reading_.seen;
    const Seen& then = reading_.before[k].seen;
    const Component& c = components()[i];
    const double fresh = alone(i, now, levels_.broad);
    if (is_chancy(reading_.kind)) return fresh;
    if (!numbers_) return (1.0 - kSameWord) * fresh + (now.category == then.category ? kSameWord : 0.0);
    if (c.over_range || !std::isfinite(c.mean) || !std::isfinite(c.sigma)) return fresh;
    return repeated(reading_, then, now);
  }

  // The k-th earlier reading came from this moment.
  double came_from(std::uint8_t moment, std::size_t k) const {
    double its = 0.0;
    double all = 0.0;
    for (std::size_t i = 0; i < components().size(); ++i) {
      const double part = components()[i].weight * alone(i, reading_.before[k].seen, broad_[k]);
      all += part;
      if (components()[i].moment == moment) its += part;
    }
    const double slip = levels_.wrong * broad_[k] + (1.0 - levels_.wrong) * no_rest_ * broad_[k];
    const double whole = slip + (1.0 - levels_.wrong) * all;
    return whole > 0.0 ? (1.0 - levels_.wrong) * its / whole : 0.0;
  }

  double of_moment(std::uint8_t moment) const {
    double surely = 0.0;
    std::size_t by = 0;
    for (std::size_t k = 0; k < reading_.before.size(); ++k) {
      const double share = came_from(moment, k);
      if (share <= surely) continue;
      surely = share;
      by = k;
    }
    double weight = 0.0;
    double fresh = 0.0;
    double then = 0.0;
    double again = 0.0;
    for (std::size_t i = 0; i < components().size(); ++i) {
      const Component& c = components()[i];
      if (c.moment != moment) continue;
      weight += c.weight;
      fresh += c.weight * alone(i, reading_.seen, levels_.broad);
      if (surely == 0.0) continue;
      const double its = c.weight * alone(i, reading_.before[by].seen, broad_[by]);
      then += its;
      again += its * after(i, by);
    }
    return then > 0.0 ? surely * weight * again / then + (1.0 - surely) * fresh : fresh;
  }

  const Prediction& prediction_;
  std::span<const Spread> spreads_;
  const Reading& reading_;
  const Levels& levels_;
  bool numbers_ = false;
  double no_rest_ = 1.0;
  std::vector<double> broad_;  // of each earlier reading
};

}  // namespace

const Reading& reading_for(const Row& row, const Reading& reading, Reading& own) {
  const auto is_touched = [&](const Before& before) {
    const auto has = [&](fault::FaultId id) {
      return !id.is_none() && std::binary_search(before.mended.begin(), before.mended.end(), id);
    };
    return has(row.first) || has(row.second) || std::any_of(row.more.begin(), row.more.end(), has);
  };
  if (std::none_of(reading.before.begin(), reading.before.end(), is_touched)) return reading;
  own = reading;
  std::erase_if(own.before, is_touched);
  return own;
}

double density_again(const Prediction& prediction, std::span<const Spread> spreads, const Reading& reading,
                     const Noise& noise, const Levels& levels) {
  if (prediction.components.empty()) {  // unknown, but it stays so
    std::vector<double> alone;
    for (const Before& before : reading.before)
      alone.push_back(broad_density({reading.kind, before.seen, reading.scale}, noise));
    alone.push_back(levels.broad);
    return density_beyond_again(alone, reading, noise);
  }
  const double density =
      std::min(Again(prediction, spreads, reading, noise, levels).run(), std::max(levels.broad, levels.sharpest));
  const double unsettled = prediction.settled ? 0.0 : noise.unsettled;
  const double drawn = (1.0 - levels.wrong) * (1.0 - unsettled);
  return drawn * density + (1.0 - drawn) * levels.broad;
}

double density_beyond_again(std::span<const double> alone, const Reading& reading, const Noise& noise) {
  if (is_chancy(reading.kind)) return alone.back();
  const Seen& first = reading.before.front().seen;
  const double wrong = wrong_share(reading.kind, noise);
  const bool numbers = evidence::is_numeric(reading.kind);
  // Of a reading after the first, what is there stays as it is.
  const auto stays = [&](const Seen& seen, double by_itself) {
    if (!numbers) return (seen.category == first.category ? kSameWord : 0.0) + (1.0 - kSameWord) * by_itself;
    return repeated(reading, first, seen);
  };
  // How probable it is by now that it stays: from the readings before this one.
  double steady = kSteadyBeyond;
  for (std::size_t k = 1; k < reading.before.size(); ++k) {
    const double as_before = steady * (wrong * alone[k] + (1.0 - wrong) * stays(reading.before[k].seen, alone[k]));
    const double anew = (1.0 - steady) * alone[k];
    if (as_before + anew > 0.0) steady = as_before / (as_before + anew);
  }
  const double now = alone.back();
  return steady * (wrong * now + (1.0 - wrong) * stays(reading.seen, now)) + (1.0 - steady) * now;
}

}  // namespace halfsplit::infer
