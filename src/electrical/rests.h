// SPDX-License-Identifier: Apache-2.0
// Other ways in which a circuit can rest than the one it finds from power-up: a relay held by its own contact, a module
// kept alive by its own driver, two relays that lock each other out. And what goes round in one that finds no rest.
// Slow path only; every answer is a full solve, so only what may hold itself (latches.h) or stands between its drop-out
// and its pull-in volts is turned over: all of it on, each alone, and states that are given.
#pragma once

#include <vector>

#include "electrical/operating_point.h"

namespace halfsplit::electrical {

// Coils, sensors and drivers, as branches, and modules, in the order of the model.
struct Moving {
  std::vector<std::size_t> branches;
  std::vector<circuit::ModuleId> modules;
  [[nodiscard]] bool empty() const { return branches.empty() && modules.empty(); }
  friend bool operator==(const Moving&, const Moving&) = default;
};

// Which of them stand otherwise.
[[nodiscard]] Moving find_differences(const Model& model, const States& one, const States& other);

constexpr std::size_t kMostTurnedOver = 64;  // coils, drivers and modules turned over, each alone

// Rests that differ from `first` (a settled one) and from each other in some coil, sensor, driver or module, with the
// same fuses whole and the same drivers tripped: what melts or trips on the way is history, not another rest. None
// where nothing may hold itself: then nothing is solved.
[[nodiscard]] std::vector<OperatingPoint> find_other_rests(const Model& model, const OperatingPoint& first,
                                                           const std::vector<States>& starts = {},
                                                           std::size_t most_turned_over = kMostTurnedOver);

// What goes round: everything that changes between the rounds of the circle `unsettled` ran into. Empty when it
// settled.
[[nodiscard]] Moving find_buzzing(const Model& model, const OperatingPoint& unsettled);

}  // namespace halfsplit::electrical
