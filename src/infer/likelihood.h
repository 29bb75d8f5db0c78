// SPDX-License-Identifier: Apache-2.0
// How well a prediction agrees with what was seen: the logarithm of a density (per unit of the observable) or of a mass
// (OL, categories). Finite for every finite reading. A mis-probe is always possible: with the share w of noise.h it is
// (1 - w) * prediction + w * broad. An unknown prediction is broad; an unsettled one is half broad.
//
// A component is normal with a slightly heavier tail: 95 % with its sigma, 5 % with three times that. Sigma comes from
// first-order tolerances; what they leave out (temperature, a tired battery, a second contact) shows as a few readings
// too far out, and a plain normal would call those mis-probes.
#pragma once

#include <vector>

#include "evidence/prediction.h"
#include "infer/noise.h"
#include "infer/read_again.h"

namespace halfsplit::infer {

[[nodiscard]] double log_likelihood(const evidence::Prediction& prediction, const evidence::Seen& seen,
                                    evidence::Kind kind, const Scale& scale, const Noise& noise);

// The same for one severity out of a range, given its neighbours (null at the ends of the range): the average over the
// stretch of severities for which this one stands, the mean taken as straight lines between neighbours. Without this, a
// reading between the predictions of two neighbouring severities would look like a mis-probe.
struct Neighbours {
  const evidence::Prediction* below = nullptr;
  const evidence::Prediction* above = nullptr;
  double share_below = 0.5;  // of the way to it that this severity stands for
  double share_above = 0.5;
};
// A reading with others of the same test before it is taken given those (read_again.h).
[[nodiscard]] double log_likelihood(const evidence::Prediction& prediction, const Neighbours& neighbours,
                                    const Reading& reading, const Noise& noise);
// For many predictions of one reading: its levels are worked out beforehand.
[[nodiscard]] double log_likelihood(const evidence::Prediction& prediction, const Neighbours& neighbours,
                                    const Reading& reading, const Noise& noise, const Levels& levels);

// The same place by place, for readings that hang together: they are all of one vehicle, whose severity is somewhere on
// the stretch but the same for all of them. Places run from -1 (half-way to the severity below) over 0 (this severity)
// to 1.
class Stretch {
 public:
  Stretch(const evidence::Prediction& prediction, const Neighbours& neighbours, const Reading& reading,
          const Noise& noise, const Levels& levels);
  [[nodiscard]] bool runs() const { return !parts_.empty(); }  // is it anywhere different from elsewhere?
  [[nodiscard]] double density(double place) const;            // mis-probes included, as log_likelihood
  [[nodiscard]] double highest() const;                        // the largest of it, near enough
  [[nodiscard]] double sharpness() const;                      // how many of its spreads it runs from end to end
  void add_turns(std::vector<double>& places) const;           // where the density rises and falls
 private:
  struct Part {
    double weight, mean, down, up, sigma;
  };
  [[nodiscard]] static double mean_at(const Part& part, double place) {
    return part.mean + (place < 0.0 ? -place * part.down : place * part.up);
  }
  std::vector<Part> parts_;  // those that run
  // Read again: what it takes; they must outlive the stretch.
  struct Taken {
    const evidence::Prediction* prediction = nullptr;
    const Reading* reading = nullptr;
    const Noise* noise = nullptr;
    const Levels* levels = nullptr;
  };
  [[nodiscard]] double density_again_at(double place) const;
  Taken again_;
  std::vector<Spread> spreads_;
  double x_ = 0.0;
  double fixed_ = 0.0;  // density of what does not run
  double most_ = 0.0;
  double broad_ = 0.0;
  double prediction_share_ = 1.0;  // of the density; the rest is broad
};

// For the row "not on this drawing": `healthy` is what the drawn circuit shows without a fault (empty: not known).
// A fault outside leaves a share of the drawing's readings healthy; the rest may be anything.
[[nodiscard]] double log_likelihood_beyond_drawing(const evidence::Prediction& healthy, const Reading& reading,
                                                   const Noise& noise);

}  // namespace halfsplit::infer
