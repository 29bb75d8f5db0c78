// SPDX-License-Identifier: Apache-2.0
// Of each moment, the earlier reading that came from it most surely says which of its components the vehicle has and
// what it gives. As far as no earlier reading came from a moment, its components are as at first.
#include "infer/read_again.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "infer/likelihood.h"
#include "infer/robust_normal.h"

namespace halfsplit::infer {

namespace {

using evidence::Component;
using evidence::Kind;
using evidence::Prediction;
using evidence::Seen;

constexpr double kSameWord = 0.9;      // a word seen is seen again, else drawn anew: what stands on the border of two
constexpr double kSteadyBeyond = 0.7;  // share of what is not drawn that does not come and go

constexpr std::uint32_t kSeenBefore = 0x9E3779B9U;  // its prints are told from those of what was not seen

// Each time a thing of its own.
bool is_chancy(Kind kind) { return evidence::provokes(kind) || kind == Kind::kQuiet; }

// Of a number, where the same was shown before: by what each reading draws anew, which is about the same whatever the
// hypothesis, so that a repeat says the same of all.
double repeat_sigma(const Reading& reading, const Seen& before, double anew) {
  return std::numbers::sqrt2 * std::max(anew, smallest_sigma({reading.kind, before, reading.scale}));
}
double repeated(const Reading& reading, const Seen& before, const Seen& now, double anew) {
  if (now.over_range || before.over_range) return now.over_range == before.over_range ? 1.0 : 0.0;
  return robust_normal(now.value, before.value, repeat_sigma(reading, before, anew));
}
double widest_anew(const Prediction& prediction) {
  double widest = 0.0;
  for (const Component& c : prediction.components) widest = std::max(widest, c.anew);
  return widest;
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

  // Those as at first keep their places; behind them what was seen, one for each moment that showed it.
  Prediction predict() const {
    Prediction again = prediction_;
    for (std::size_t i = 0; i < components().size(); ++i) {
      if (!is_first_of_moment(i)) continue;
      const std::uint8_t moment = components()[i].moment;
      const auto [by, surely] = seen_in(moment);
      if (surely == 0.0) continue;
      for (std::size_t k = 0; k < components().size(); ++k)
        if (components()[k].moment == moment) again.components[k].weight *= 1.0 - surely;
      again.components.push_back(as_before(moment, by, surely));
    }
    return again;
  }

  // What is foretold, at the reading.
  double run() const {
    const Prediction again = predict();
    double density = no_rest_ * levels_.broad;
    for (std::size_t i = 0; i < again.components.size(); ++i) {
      const Component& c = again.components[i];
      const Spread spread = i < spreads_.size() ? spreads_[i] : Spread{c.mean, c.sigma};
      density += c.weight * alone(c, spread, reading_.seen, levels_.broad);
    }
    return density;
  }

 private:
  const std::vector<Component>& components() const { return prediction_.components; }

  bool is_first_of_moment(std::size_t i) const {
    return std::none_of(components().begin(), components().begin() + static_cast<std::ptrdiff_t>(i),
                        [&](const Component& c) { return c.moment == components()[i].moment; });
  }

  // Of one component by itself, without its weight.
  double alone(const Component& c, const Spread& spread, const Seen& seen, double broad) const {
    if (!numbers_)
      return std::clamp(static_cast<double>(c.category[static_cast<std::size_t>(seen.category)]), 0.0, 1.0);
    if (c.over_range) return seen.over_range ? 1.0 : 0.0;
    if (!std::isfinite(c.mean) || !std::isfinite(c.sigma)) return broad;
    return seen.over_range ? 0.0 : density_of(spread, seen.value);
  }

  // With its weight, of the k-th earlier reading.
  double then(std::size_t i, std::size_t k) const {
    const Component& c = components()[i];
    return c.weight * alone(c, spreads_[i], reading_.before[k].seen, broad_[k]);
  }

  // The k-th earlier reading came from this moment.
  double came_from(std::uint8_t moment, std::size_t k) const {
    double its = 0.0;
    double all = 0.0;
    for (std::size_t i = 0; i < components().size(); ++i) {
      const double part = then(i, k);
      all += part;
      if (components()[i].moment == moment) its += part;
    }
    const double slip = levels_.wrong * broad_[k] + (1.0 - levels_.wrong) * no_rest_ * broad_[k];
    const double whole = slip + (1.0 - levels_.wrong) * all;
    return whole > 0.0 ? (1.0 - levels_.wrong) * its / whole : 0.0;
  }

  // The reading before that came from a moment most surely, and how surely.
  std::pair<std::size_t, double> seen_in(std::uint8_t moment) const {
    std::pair<std::size_t, double> best{0, 0.0};
    if (is_chancy(reading_.kind)) return best;
    for (std::size_t k = 0; k < reading_.before.size(); ++k)
      if (const double share = came_from(moment, k); share > best.second) best = {k, share};
    return best;
  }

  // A component of this moment that shows it again, of its words or values as it stood.
  Component as_before(std::uint8_t moment, std::size_t k, double surely) const {
    const Seen& seen = reading_.before[k].seen;
    double weight = 0.0;
    double sum = 0.0;
    double most = -1.0;
    Component c;
    std::array<double, 3> words{};
    for (std::size_t i = 0; i < components().size(); ++i) {
      const Component& one = components()[i];
      if (one.moment != moment) continue;
      weight += one.weight;
      const double its = then(i, k);
      sum += its;
      for (std::size_t w = 0; w < words.size(); ++w) words[w] += its * static_cast<double>(one.category[w]);
      if (its > most) {
        most = its;
        c = one;
      }
    }
    c.weight = surely * weight;
    c.states ^= kSeenBefore;
    if (numbers_) {
      c.over_range = seen.over_range;
      c.mean = seen.value;
      c.sigma = repeat_sigma(reading_, seen, c.anew);
      return c;
    }
    for (std::size_t w = 0; w < words.size(); ++w) {
      const double again = static_cast<int>(w) == seen.category ? kSameWord : 0.0;
      c.category[w] = static_cast<float>((1.0 - kSameWord) * words[w] / sum + again);
    }
    return c;
  }

  const Prediction& prediction_;
  std::span<const Spread> spreads_;
  const Reading& reading_;
  const Levels& levels_;
  bool numbers_ = false;
  double no_rest_ = 1.0;
  std::vector<double> broad_;  // of each earlier reading
};

// Beyond the drawing: a reading after the first, where what is there stays as it is.
double stays(const Reading& reading, const Seen& seen, double alone, double anew) {
  const Seen& first = reading.before.front().seen;
  if (evidence::is_numeric(reading.kind)) return repeated(reading, first, seen, anew);
  return (seen.category == first.category ? kSameWord : 0.0) + (1.0 - kSameWord) * alone;
}

// How probable it is by now that it stays: from the readings before this one.
double steadiness(std::span<const double> alone, const Reading& reading, const Noise& noise, double anew_sigma) {
  const double wrong = wrong_share(reading.kind, noise);
  double steady = kSteadyBeyond;
  for (std::size_t k = 1; k < reading.before.size(); ++k) {
    const double as_before =
        steady * (wrong * alone[k] + (1.0 - wrong) * stays(reading, reading.before[k].seen, alone[k], anew_sigma));
    const double anew = (1.0 - steady) * alone[k];
    if (as_before + anew > 0.0) steady = as_before / (as_before + anew);
  }
  return steady;
}

}  // namespace

double density_of(const Spread& s, double x) {
  if (s.down == 0.0 && s.up == 0.0) return robust_normal(x, s.mean, s.sigma);
  return 0.5 * robust_normal_between(x, s.mean, s.mean + s.down, s.sigma) +
         0.5 * robust_normal_between(x, s.mean, s.mean + s.up, s.sigma);
}

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
    return density_beyond_again(alone, prediction, reading, noise);
  }
  const double density =
      std::min(Again(prediction, spreads, reading, noise, levels).run(), std::max(levels.broad, levels.sharpest));
  const double unsettled = prediction.settled ? 0.0 : noise.unsettled;
  const double drawn = (1.0 - levels.wrong) * (1.0 - unsettled);
  return drawn * density + (1.0 - drawn) * levels.broad;
}

Prediction predict_again(const Prediction& prediction, const Reading& reading, const Noise& noise) {
  if (reading.before.empty() || is_chancy(reading.kind)) return prediction;
  if (prediction.components.empty()) return predict_beyond_again(prediction, reading, noise);
  Reading newest = reading;  // levels of a value that is like it
  newest.seen = reading.before.back().seen;
  const Levels levels = compute_levels(newest, noise);
  std::vector<Spread> spreads;
  for (const Component& c : prediction.components) spreads.push_back({c.mean, std::max(c.sigma, levels.sigma)});
  return Again(prediction, spreads, newest, noise, levels).predict();
}

Prediction predict_beyond_again(const Prediction& healthy, const Reading& reading, const Noise& noise) {
  const double share = healthy.components.empty() ? 0.0 : noise.healthy_beyond_drawing;
  Prediction again{healthy.components, true};
  double steady = 0.0;
  if (!reading.before.empty() && !is_chancy(reading.kind)) {
    std::vector<double> alone;
    for (const Before& before : reading.before)
      alone.push_back(
          std::exp(log_likelihood_beyond_drawing(healthy, {reading.kind, before.seen, reading.scale}, noise)));
    steady = steadiness(alone, reading, noise, widest_anew(healthy));
  }
  for (Component& c : again.components) c.weight *= (1.0 - steady) * share;
  if (steady == 0.0) return again;
  const Seen& first = reading.before.front().seen;
  Component c;
  c.weight = steady;
  if (!evidence::is_numeric(reading.kind)) {
    for (std::size_t w = 0; w < evidence::categories(reading.kind).size(); ++w) {
      const bool seen = static_cast<int>(w) == first.category;
      const Reading one{reading.kind, {false, 0.0, static_cast<int>(w)}, reading.scale};
      const double by_itself = std::exp(log_likelihood_beyond_drawing(healthy, one, noise));
      c.category[w] = static_cast<float>((1.0 - kSameWord) * by_itself + (seen ? kSameWord : 0.0));
    }
  } else if (first.over_range) {
    c.over_range = true;
  } else {
    c.mean = first.value;
    c.anew = widest_anew(healthy);
    c.sigma = repeat_sigma(reading, first, c.anew);
  }
  again.components.push_back(c);
  return again;
}

double density_beyond_again(std::span<const double> alone, const Prediction& healthy, const Reading& reading,
                            const Noise& noise) {
  if (is_chancy(reading.kind)) return alone.back();
  const double wrong = wrong_share(reading.kind, noise);
  const double steady = steadiness(alone, reading, noise, widest_anew(healthy));
  const double now = alone.back();
  return steady * (wrong * now + (1.0 - wrong) * stays(reading, reading.seen, now, widest_anew(healthy))) +
         (1.0 - steady) * now;
}

}  // namespace halfsplit::infer
