// SPDX-License-Identifier: Apache-2.0
// What a reading looks like when it tells nothing of the drawn circuit: the probe slipped, the figure was misread, or
// the fault is not on the drawing. Densities are per unit of the observable (V, ohm, A, the live value's unit);
// over-range (OL) and categories are masses. Each adds up to 1 over all that can be seen. The figures are ours, by
// judgement.
#pragma once

#include <vector>

#include "evidence/observable.h"
#include "fault/fault.h"

namespace halfsplit::infer {

// Ends of a live value's scale, in its unit. Other kinds do not look at it.
struct Scale {
  double low = 0.0;
  double high = 100.0;
};

struct Noise {
  double system_volts = 24.0;
  double mis_probe = 0.02;  // share of readings by meter or test lamp that tell nothing; 0 is allowed
  double misread = 0.01;    // the same where no probe is held: codes, live values, looks, answers, wiggles, heat
  std::size_t codes = 1;  // that the drawing knows: of many, one that is there for some other reason is rarely this one
  double unsettled = 0.5;               // share of "tells nothing" in the prediction of a circuit that found no rest
  double healthy_beyond_drawing = 0.5;  // a fault not on the drawing: share of readings that look healthy all the same
};

// What the same test showed before, in the same state of the vehicle.
struct Before {
  evidence::Seen seen;
  std::vector<fault::FaultId> mended;  // sorted: the faults that repairs done since then are for
  friend bool operator==(const Before&, const Before&) = default;
};

// One piece of evidence: a column of the tables.
struct Reading {
  evidence::Kind kind = evidence::Kind::kVolts;
  evidence::Seen seen;
  Scale scale;
  std::vector<Before> before = {};  // oldest first (read_again.h)
};

// mis_probe or misread, by kind.
[[nodiscard]] double wrong_share(evidence::Kind kind, const Noise& noise);
// No prediction is taken to be sharper than this at the value seen: one sigma of the instrument in good hands.
[[nodiscard]] double smallest_sigma(const Reading& reading);
// Density or mass of the reading when it tells nothing. Positive for every finite value.
[[nodiscard]] double broad_density(const Reading& reading, const Noise& noise);
// Mass of all that tells nothing below x, of a numeric kind: what broad_density adds up to. OL is not in it.
[[nodiscard]] double broad_below(evidence::Kind kind, const Scale& scale, const Noise& noise, double x);
// The most a prediction of the circuit alone can give the reading: its smallest sigma at the middle; 1 for a mass.
[[nodiscard]] double sharpest_density(const Reading& reading);
// No prediction whatever gives the reading more than this (mis-probes included): see likelihood.h.
[[nodiscard]] double peak_density(const Reading& reading, const Noise& noise);
// What the four functions above say of one reading, worked out once for a whole column.
struct Levels {
  double wrong = 0.0;     // wrong_share
  double broad = 0.0;     // broad_density
  double sigma = 0.0;     // smallest_sigma; 0 where there is no number
  double sharpest = 0.0;  // sharpest_density
};
[[nodiscard]] Levels compute_levels(const Reading& reading, const Noise& noise);
// The most one reading can cost a hypothesis against another, as a factor on their odds: wrong_share * broad / peak.
[[nodiscard]] double worst_factor(const Reading& reading, const Noise& noise);

}  // namespace halfsplit::infer
