// SPDX-License-Identifier: Apache-2.0
// The same test read again in the same state. What a hypothesis leaves open - tolerances, which side of a threshold a
// relay, a lamp or a code stands on - is settled once for a vehicle: the first reading tells it, and the second shows
// the same within what a reading repeats to. Taken as drawn anew, every repeat would speak once more for the suspect
// whose prediction happens to lie nearest. What comes and goes is drawn anew in each of its moments
// (Component::moment); so is a slip of the probe, and what a wiggle, heat or cold brings about.
//
// A repeat is taken to differ by what each reading draws anew (Component::anew; at least the instrument's own). The
// shares in the .cpp are ours.
#pragma once

#include <span>

#include "evidence/prediction.h"
#include "infer/noise.h"
#include "infer/prior.h"

namespace halfsplit::infer {

// The reading as a row takes it: without what was seen before a repair of one of its faults. `own` holds it where that
// is not the reading itself. Not drawn: no repair done is for it.
[[nodiscard]] const Reading& reading_for(const Row& row, const Reading& reading, Reading& own);

// How one component gives numbers: its mean and spread, and how far its mean runs to both ends of a stretch.
struct Spread {
  double mean = 0.0, sigma = 0.0, down = 0.0, up = 0.0;
};
// Averaged over the stretch.
[[nodiscard]] double density_of(const Spread& spread, double x);

// Density or mass of the reading, given those before it; mis-probes included. One spread per component.
[[nodiscard]] double density_again(const evidence::Prediction& prediction, std::span<const Spread> spreads,
                                   const Reading& reading, const Noise& noise, const Levels& levels);

// What the same hypotheses show when the test is read once more: the prediction given `reading.before`, as components
// that have been seen, narrow, and those as at first. What that leaves over may be anything.
[[nodiscard]] evidence::Prediction predict_again(const evidence::Prediction& prediction, const Reading& reading,
                                                 const Noise& noise);
// Of "not on this drawing"; `healthy` as in likelihood.h.
[[nodiscard]] evidence::Prediction predict_beyond_again(const evidence::Prediction& healthy, const Reading& reading,
                                                        const Noise& noise);

// Density or mass beyond the drawing. `alone`: the density of each reading by itself, oldest first, the newest last.
[[nodiscard]] double density_beyond_again(std::span<const double> alone, const evidence::Prediction& healthy,
                                          const Reading& reading, const Noise& noise);

}  // namespace halfsplit::infer
