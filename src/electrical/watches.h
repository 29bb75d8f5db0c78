// SPDX-License-Identifier: Apache-2.0
// Which states a change of the circuit can move. Each state hangs on one quantity of the solution: a diode on the volts
// across it or its current, a coil and a filament on their volts, a module on its supply. With that quantity as a right
// half (sparse/half_solver.h) and a change as a left half, the two touch only where their ways to the root of the
// elimination meet. Few states meet at most places: those are looked at one by one. At a hub - the ground, the posts of
// the battery, a fuse box - many do; there only those are looked at that the change is strong enough to move.
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
  Watches(const Model& model, const Stateful& stateful, const OperatingPoint& rest, sparse::HalfSolver& halves);

  [[nodiscard]] const std::vector<Watch>& all() const { return all_; }
  [[nodiscard]] const Watch& operator[](std::size_t w) const { return all_[w]; }
  // Adds the watches that meet this left half below the hubs.
  void meet(const sparse::Half& left, std::vector<std::uint32_t>& near) const;
  // Adds those of the others, `noted` aside, that this whole change moves by more than `share` of their margin.
  void move(const sparse::Spread& change, const std::vector<char>& noted, double share,
            std::vector<std::uint32_t>& moved) const;
  // How far a state stands from where it stood at rest, in what it hangs on.
  [[nodiscard]] double shift(std::size_t w, const sparse::Spread& change) const {
    return static_cast<double>(change.dot(half_[w]));
  }
  // The least margins of all states.
  [[nodiscard]] double least_volt() const { return least_volt_; }
  [[nodiscard]] double least_ampere() const { return least_ampere_; }

 private:
  struct AtHub {
    double share = 0.0;  // |entry| / margin
    std::uint32_t watch = 0;
  };
  void list_places(std::size_t places);

  std::vector<Watch> all_;
  std::vector<sparse::Half> half_;
  std::vector<std::uint32_t> start_, list_;  // watches by place in the elimination; none listed at a hub
  std::vector<std::uint32_t> hub_start_;     // by place
  std::vector<AtHub> at_hub_;                // strongest first at each hub
  double least_volt_ = 1.0e300, least_ampere_ = 1.0e300;
};

}  // namespace halfsplit::electrical
