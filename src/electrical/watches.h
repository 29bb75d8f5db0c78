// SPDX-License-Identifier: Apache-2.0
// Which states a change of the circuit can move. Each state hangs on one quantity of the solution: a diode on the volts
// across it or its current, a coil and a filament on their volts, a module on its supply. With that quantity as a right
// half (sparse/half_solver.h) and a change as a left half, the two touch only where their ways to the root of the
// elimination meet. What meets below the hubs of the circuit is looked at one by one; what meets only in the hubs - the
// ground, the posts of the battery - is bounded all together: no state moves while the bound stays below one.
#pragma once

#include <cstdint>
#include <vector>

#include "electrical/operating_point.h"
#include "electrical/states.h"
#include "sparse/half_solver.h"

namespace halfsplit::electrical {

struct Watch {
  enum class Kind : std::uint8_t { kFast, kMiddle, kLast, kModule };
  Kind kind = Kind::kFast;
  std::size_t index = 0;  // branch, or module
  double margin = 0.0;    // V or A from where it stands to where it would move; half the way counts as too far
  bool ampere = false;    // margin is a current
  NodeId a, b;            // whose being on one island counts; none: of no account
};

// V or A from where a state stands to where it would move.
[[nodiscard]] double margin_of(const Model& model, const States& states, const Solution& solution, const Watch& watch);
[[nodiscard]] bool margin_is_current(const Model& model, const States& states, const Watch& watch);

class Watches {
 public:
  Watches() = default;
  Watches(const Model& model, const Stateful& stateful, const OperatingPoint& rest, const sparse::HalfSolver& halves);

  [[nodiscard]] const std::vector<Watch>& all() const { return all_; }
  [[nodiscard]] const Watch& operator[](std::size_t w) const { return all_[w]; }
  // Adds the watches that meet this left half below the hubs.
  void meet(const sparse::Half& left, std::vector<std::uint32_t>& near) const;
  // Per unit of the change: the most that any other state moves, as a share of its margin.
  [[nodiscard]] double far_share(const sparse::Half& left) const;

 private:
  std::vector<Watch> all_;
  std::vector<std::uint32_t> start_, list_;  // watches by place in the elimination; none listed at a hub
  std::vector<double> hub_share_;            // by place: the largest |entry| / margin at a hub, else 0
};

}  // namespace halfsplit::electrical
