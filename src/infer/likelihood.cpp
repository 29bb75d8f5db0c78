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

double numeric_density(const Prediction& prediction, const Neighbours& neighbours, std::size_t i,
                       const Reading& reading) {
  const Component& component = prediction.components[i];
  const double sigma = std::max(component.sigma, smallest_sigma(reading));
  double down = run_towards(neighbours.below, prediction, i);
  double up = run_towards(neighbours.above, prediction, i);
  if (neighbours.below == nullptr) down = -up;
  if (neighbours.above == nullptr) up = -down;
  const double x = reading.seen.value;
  const double mean = component.mean;
  const double density =
      0.5 * robust_normal_between(x, mean, mean + down, sigma) + 0.5 * robust_normal_between(x, mean, mean + up, sigma);
  return std::min(density, sharpest_density(reading));
}

double component_density(const Prediction& prediction, const Neighbours& neighbours, std::size_t i,
                         const Reading& reading, double broad) {
  const Component& component = prediction.components[i];
  if (!evidence::is_numeric(reading.kind))
    return std::clamp(static_cast<double>(component.category[static_cast<std::size_t>(reading.seen.category)]), 0.0,
                      1.0);
  if (component.over_range) return reading.seen.over_range ? 1.0 : 0.0;
  if (!std::isfinite(component.mean) || !std::isfinite(component.sigma)) return broad;
  return reading.seen.over_range ? 0.0 : numeric_density(prediction, neighbours, i, reading);
}

double prediction_density(const Prediction& prediction, const Neighbours& neighbours, const Reading& reading,
                          const Noise& noise, double broad) {
  if (prediction.components.empty()) return broad;
  double density = 0.0;
  for (std::size_t i = 0; i < prediction.components.size(); ++i)
    density += prediction.components[i].weight * component_density(prediction, neighbours, i, reading, broad);
  density = std::min(density, std::max(broad, sharpest_density(reading)));
  return prediction.settled ? density : noise.unsettled * broad + (1.0 - noise.unsettled) * density;
}

double density_of(const Prediction& prediction, const Neighbours& neighbours, const Reading& reading,
                  const Noise& noise, double broad) {
  const double wrong = wrong_share(reading.kind, noise);
  return wrong * broad + (1.0 - wrong) * prediction_density(prediction, neighbours, reading, noise, broad);
}

}  // namespace

double log_likelihood(const Prediction& prediction, const Neighbours& neighbours, const Reading& reading,
                      const Noise& noise) {
  const double broad = broad_density(reading, noise);
  return std::log(std::max(kLeastDensity, density_of(prediction, neighbours, reading, noise, broad)));
}

double log_likelihood(const Prediction& prediction, const evidence::Seen& seen, evidence::Kind kind, const Scale& scale,
                      const Noise& noise) {
  return log_likelihood(prediction, Neighbours{}, Reading{kind, seen, scale}, noise);
}

double log_likelihood_beyond_drawing(const Prediction& healthy, const Reading& reading, const Noise& noise) {
  const double broad = broad_density(reading, noise);
  const double share = noise.healthy_beyond_drawing;
  const double density = share * density_of(healthy, Neighbours{}, reading, noise, broad) + (1.0 - share) * broad;
  return std::log(std::max(kLeastDensity, density));
}

}  // namespace halfsplit::infer
