// SPDX-License-Identifier: Apache-2.0
// A mixture density, added up component by component. A severity out of a range stands for half the way to each of its
// neighbours; at the ends of the range the stretch is mirrored. A neighbour whose components do not match (the relay
// has dropped out there, say) gives no line to follow, and that half stays at this severity's own mean. Predicted
// figures that are not finite tell nothing.
#include "infer/likelihood.h"

#include <algorithm>
#include <cmath>

#include "infer/robust_normal.h"

namespace halfsplit::infer {

namespace {

using evidence::Component;
using evidence::Prediction;

bool match(const Prediction& a, const Prediction& b) {
  if (a.components.size() != b.components.size()) return false;
  for (std::size_t i = 0; i < a.components.size(); ++i)
    if (a.components[i].over_range != b.components[i].over_range) return false;
  return true;
}

// How far the mean of component i runs towards a neighbour, from this severity's mean; 0: no line to follow.
double run_towards(const Prediction* neighbour, const Prediction& own, std::size_t i) {
  if (neighbour == nullptr || !match(*neighbour, own)) return 0.0;
  const double run = 0.5 * (neighbour->components[i].mean - own.components[i].mean);
  return std::isfinite(run) ? run : 0.0;
}

// One reading with all that is the same for a whole column.
struct Given {
  const Reading& reading;
  const Noise& noise;
  const Levels& levels;
  bool is_number;  // the kind has numbers; OL included
};

double number_density(const Prediction& prediction, const Neighbours& neighbours, std::size_t i, const Given& given) {
  const Component& component = prediction.components[i];
  const double sigma = std::max(component.sigma, given.levels.sigma);
  const double x = given.reading.seen.value;
  const double mean = component.mean;
  double down = run_towards(neighbours.below, prediction, i);
  double up = run_towards(neighbours.above, prediction, i);
  if (neighbours.below == nullptr) down = -up;
  if (neighbours.above == nullptr) up = -down;
  if (down == 0.0 && up == 0.0) return robust_normal(x, mean, sigma);
  return 0.5 * robust_normal_between(x, mean, mean + down, sigma) +
         0.5 * robust_normal_between(x, mean, mean + up, sigma);
}

double component_density(const Prediction& prediction, const Neighbours& neighbours, std::size_t i,
                         const Given& given) {
  const Component& component = prediction.components[i];
  const evidence::Seen& what = given.reading.seen;
  if (!given.is_number)
    return std::clamp(static_cast<double>(component.category[static_cast<std::size_t>(what.category)]), 0.0, 1.0);
  if (component.over_range) return what.over_range ? 1.0 : 0.0;
  if (!std::isfinite(component.mean) || !std::isfinite(component.sigma)) return given.levels.broad;
  return what.over_range ? 0.0 : number_density(prediction, neighbours, i, given);
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

}  // namespace

double log_likelihood(const Prediction& prediction, const Neighbours& neighbours, const Reading& reading,
                      const Noise& noise, const Levels& levels) {
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

double log_likelihood_beyond_drawing(const Prediction& healthy, const Reading& reading, const Noise& noise) {
  const Levels levels = compute_levels(reading, noise);
  const Given given{reading, noise, levels, evidence::is_numeric(reading.kind)};
  const double share = noise.healthy_beyond_drawing;
  const double density = share * density_of(healthy, Neighbours{}, given) + (1.0 - share) * levels.broad;
  return std::log(std::max(kLeastDensity, density));
}

}  // namespace halfsplit::infer
