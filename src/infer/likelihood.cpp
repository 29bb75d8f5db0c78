// SPDX-License-Identifier: Apache-2.0
// A mixture density, added up component by component. A severity out of a range stands for a share of the way to each
// of its neighbours, half of it where the range is divided evenly. The mean runs on a straight line to that of the
// neighbour's component of the same states; where there is none (the end of the range; a relay that has dropped out
// there) the stretch is mirrored: up to where it ends, the circuit goes on as it came. Predicted figures that are not
// finite tell nothing.
#include "infer/likelihood.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "infer/read_again.h"
#include "infer/robust_normal.h"

namespace halfsplit::infer {

namespace {

using evidence::Component;
using evidence::Prediction;

// The neighbour's component that goes on from component i: a number as well, of the same states, the first from the
// first, the second from the second.
const Component* find_next(const Prediction* neighbour, const Prediction& own, std::size_t i) {
  if (neighbour == nullptr) return nullptr;
  const auto goes_on = [&](const Component& c) { return !c.over_range && c.states == own.components[i].states; };
  auto before = std::count_if(own.components.begin(), own.components.begin() + static_cast<std::ptrdiff_t>(i), goes_on);
  for (const Component& c : neighbour->components)
    if (goes_on(c) && before-- == 0) return &c;
  return nullptr;
}

// How far the mean of component i runs towards a neighbour, from this severity's mean; none: no line to follow.
std::optional<double> run_towards(const Prediction* neighbour, double share, const Prediction& own, std::size_t i) {
  const Component* next = find_next(neighbour, own, i);
  if (next == nullptr) return std::nullopt;
  const double run = share * (next->mean - own.components[i].mean);
  return std::isfinite(run) ? std::optional<double>(run) : std::nullopt;
}

// One reading with all that is the same for a whole column.
struct Given {
  const Reading& reading;
  const Noise& noise;
  const Levels& levels;
  bool is_number;  // the kind has numbers; OL included
};

// How far a component's mean runs to both ends of the stretch.
struct Runs {
  double down, up;
};

Runs runs_of(const Prediction& prediction, const Neighbours& neighbours, std::size_t i) {
  const std::optional<double> below = run_towards(neighbours.below, neighbours.share_below, prediction, i);
  const std::optional<double> above = run_towards(neighbours.above, neighbours.share_above, prediction, i);
  return {below ? *below : -above.value_or(0.0), above ? *above : -below.value_or(0.0)};
}

Spread spread_of(const Prediction& prediction, const Neighbours& neighbours, std::size_t i, const Levels& levels) {
  const Component& c = prediction.components[i];
  const Runs runs = c.over_range ? Runs{0.0, 0.0} : runs_of(prediction, neighbours, i);
  return {c.mean, std::max(c.sigma, levels.sigma), runs.down, runs.up};
}

double component_density(const Prediction& prediction, const Neighbours& neighbours, std::size_t i,
                         const Given& given) {
  const Component& component = prediction.components[i];
  const evidence::Seen& what = given.reading.seen;
  if (!given.is_number)
    return std::clamp(static_cast<double>(component.category[static_cast<std::size_t>(what.category)]), 0.0, 1.0);
  if (component.over_range) return what.over_range ? 1.0 : 0.0;
  if (!std::isfinite(component.mean) || !std::isfinite(component.sigma)) return given.levels.broad;
  return what.over_range ? 0.0 : density_of(spread_of(prediction, neighbours, i, given.levels), what.value);
}

// Never above the larger of broad and sharpest, whatever rounding does: peak_density relies on it.
double prediction_density(const Prediction& prediction, const Neighbours& neighbours, const Given& given) {
  const double broad = given.levels.broad;
  if (prediction.components.empty()) return broad;
  double density = 0.0;
  double no_rest = 1.0;  // what the components leave over
  for (const Component& component : prediction.components) no_rest -= component.weight;
  for (std::size_t i = 0; i < prediction.components.size(); ++i)
    density += prediction.components[i].weight * component_density(prediction, neighbours, i, given);
  if (prediction.settled && no_rest > 1.0e-9) density += no_rest * broad;
  density = std::min(density, std::max(broad, given.levels.sharpest));
  const double unsettled = prediction.settled ? 0.0 : given.noise.unsettled;
  return unsettled * broad + (1.0 - unsettled) * density;
}

double density_of(const Prediction& prediction, const Neighbours& neighbours, const Given& given) {
  return given.levels.wrong * given.levels.broad +
         (1.0 - given.levels.wrong) * prediction_density(prediction, neighbours, given);
}

// For a reading with others of the same test before it.
std::vector<Spread> spreads_of(const Prediction& prediction, const Neighbours& neighbours, const Levels& levels) {
  std::vector<Spread> spreads;
  for (std::size_t i = 0; i < prediction.components.size(); ++i)
    spreads.push_back(spread_of(prediction, neighbours, i, levels));
  return spreads;
}

}  // namespace

double log_likelihood(const Prediction& prediction, const Neighbours& neighbours, const Reading& reading,
                      const Noise& noise, const Levels& levels) {
  if (!reading.before.empty()) {
    const std::vector<Spread> spreads = spreads_of(prediction, neighbours, levels);
    return std::log(std::max(kLeastDensity, density_again(prediction, spreads, reading, noise, levels)));
  }
  const Given given{reading, noise, levels, evidence::is_numeric(reading.kind)};
  return std::log(std::max(kLeastDensity, density_of(prediction, neighbours, given)));
}

double log_likelihood(const Prediction& prediction, const Neighbours& neighbours, const Reading& reading,
                      const Noise& noise) {
  return log_likelihood(prediction, neighbours, reading, noise, compute_levels(reading, noise));
}

double log_likelihood(const Prediction& prediction, const evidence::Seen& seen, evidence::Kind kind, const Scale& scale,
                      const Noise& noise) {
  return log_likelihood(prediction, Neighbours{}, Reading{kind, seen, scale}, noise);
}

Stretch::Stretch(const Prediction& prediction, const Neighbours& neighbours, const Reading& reading, const Noise& noise,
                 const Levels& levels)
    : x_(reading.seen.value), most_(std::max(levels.broad, levels.sharpest)), broad_(levels.broad) {
  if (!reading.before.empty()) {
    again_ = {&prediction, &reading, &noise, &levels};
    spreads_ = spreads_of(prediction, neighbours, levels);
  }
  const Given given{reading, noise, levels, evidence::is_numeric(reading.kind)};
  const double unsettled = prediction.settled ? 0.0 : noise.unsettled;
  prediction_share_ = (1.0 - levels.wrong) * (1.0 - unsettled);
  if (prediction.components.empty()) fixed_ = levels.broad;
  double no_rest = 1.0;
  for (std::size_t i = 0; i < prediction.components.size(); ++i) {
    const Component& c = prediction.components[i];
    no_rest -= c.weight;
    const bool number =
        given.is_number && !c.over_range && !reading.seen.over_range && std::isfinite(c.mean) && std::isfinite(c.sigma);
    const Runs runs = number ? runs_of(prediction, neighbours, i) : Runs{0.0, 0.0};
    if (runs.down == 0.0 && runs.up == 0.0)
      fixed_ += c.weight * component_density(prediction, {}, i, given);
    else
      parts_.push_back({c.weight, c.mean, runs.down, runs.up, std::max(c.sigma, levels.sigma)});
  }
  if (!prediction.components.empty() && prediction.settled && no_rest > 1.0e-9) fixed_ += no_rest * levels.broad;
}

double Stretch::density(double place) const {
  if (again_.reading != nullptr) return std::max(kLeastDensity, density_again_at(place));
  double density = fixed_;
  for (const Part& part : parts_) density += part.weight * robust_normal(x_, mean_at(part, place), part.sigma);
  return std::max(kLeastDensity, prediction_share_ * std::min(density, most_) + (1.0 - prediction_share_) * broad_);
}

double Stretch::density_again_at(double place) const {
  std::vector<Spread> there;
  for (const Spread& s : spreads_)
    there.push_back({s.mean + (place < 0.0 ? -place * s.down : place * s.up), s.sigma, 0.0, 0.0});
  return density_again(*again_.prediction, there, *again_.reading, *again_.noise, *again_.levels);
}

double Stretch::highest() const {
  double most = density(0.0);
  for (const Part& part : parts_)
    for (const double side : {-1.0, 1.0}) {
      const double run = side < 0.0 ? part.down : part.up;
      if (run != 0.0) most = std::max(most, density(side * std::clamp((x_ - part.mean) / run, 0.0, 1.0)));
    }
  return most;
}

double Stretch::sharpness() const {
  double most = 0.0;
  for (const Part& part : parts_) most = std::max(most, (std::fabs(part.down) + std::fabs(part.up)) / part.sigma);
  return most;
}

void Stretch::add_turns(std::vector<double>& places) const {
  constexpr double kSpreads[] = {0.0, 0.4, 0.8, 1.3, 2.0, 3.0, 5.0};
  for (const Part& part : parts_)
    for (const double side : {-1.0, 1.0}) {
      const double run = side < 0.0 ? part.down : part.up;
      if (run == 0.0) continue;
      const double at = (x_ - part.mean) / run;  // of the way to that end
      const double width = part.sigma / std::fabs(run);
      for (const double spreads : kSpreads)
        for (const double place : {at - spreads * width, at + spreads * width})
          if (place > 0.0 && place < 1.0) places.push_back(side * place);
    }
}

double log_likelihood_beyond_drawing(const Prediction& healthy, const Reading& reading, const Noise& noise) {
  const Levels levels = compute_levels(reading, noise);
  const Given given{reading, noise, levels, evidence::is_numeric(reading.kind)};
  const double share = noise.healthy_beyond_drawing;
  const auto alone = [&](const Given& one) {
    return share * density_of(healthy, Neighbours{}, one) + (1.0 - share) * one.levels.broad;
  };
  if (reading.before.empty()) return std::log(std::max(kLeastDensity, alone(given)));
  std::vector<double> all;
  for (const Before& before : reading.before) {
    const Reading then{reading.kind, before.seen, reading.scale};
    const Levels its = compute_levels(then, noise);
    all.push_back(alone({then, noise, its, given.is_number}));
  }
  all.push_back(alone(given));
  return std::log(std::max(kLeastDensity, density_beyond_again(all, healthy, reading, noise)));
}

}  // namespace halfsplit::infer
