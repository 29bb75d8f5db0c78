// SPDX-License-Identifier: Apache-2.0
// Levels on a bus against a receiver's threshold: one way of reading, in sigmas of it. Internal to the room.
#pragma once

#include <array>
#include <vector>

#include "circuit/bus_kinds.h"
#include "predict/bus_picture.h"
#include "predict/observe.h"

namespace halfsplit::predict {

// A level this near to the threshold, in sigmas of it, is on neither side: a receiver wants something to read (two
// lines on one potential are no signal, though the threshold lie between two millivolts).
constexpr double kLeastSigmas = 0.1;

struct Shift {
  double sigmas, weight;
};
// Gauss-Hermite, five points.
constexpr std::array<Shift, 5> kShifts{
    {{0.0, 0.53333}, {-1.3556, 0.22208}, {1.3556, 0.22208}, {-2.8570, 0.01126}, {2.8570, 0.01126}}};

// One way of reading with its levels, as y against the threshold, in sigmas of it.
struct Heard {
  std::vector<double> rests;     // by receiver: (T - y at rest) / sigma
  std::vector<double> dominant;  // [sender * seats + receiver]: (y driven - T) / sigma
  std::vector<double> returns;   // (T - y at the sample point) / sigma
  double spread = 1.0;           // V: one sigma
};

[[nodiscard]] Heard heard_of(const Scene& scene, circuit::BusId bus, const BusLevels& levels,
                             const circuit::BusReading& reading);

}  // namespace halfsplit::predict
