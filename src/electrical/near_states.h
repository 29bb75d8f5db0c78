// SPDX-License-Identifier: Apache-2.0
// States that stand near the value at which they move: a coil near its pull-in volts, a module near the supply it lives
// from, a driver near its limit. Parts' tolerances may have them stand the other way, and then readings come in two
// kinds (docs/formats/loom.md, section 7). Diodes and filaments are not among them: their readings have no step.
#pragma once

#include <cstdint>
#include <vector>

#include "electrical/states.h"

namespace halfsplit::electrical {

struct StateRef {
  enum class Kind : std::uint8_t { kCoil, kModule, kRatio, kFollows, kLimit, kFuse };
  Kind kind = Kind::kCoil;
  std::size_t index = 0;  // module, or branch: the coil, the sensor's output, the driver, the fuse
  friend auto operator<=>(const StateRef&, const StateRef&) = default;
};

// Every state of a model that could move; what a fault holds fast, or no setup wants, is not among them.
[[nodiscard]] std::vector<StateRef> list_states(const Model& model);
[[nodiscard]] bool can_move(const Model& model, const States& states, const StateRef& ref);

// Pulled in, alive, sending, on, whole.
[[nodiscard]] bool stands_on(const States& states, const StateRef& ref);
// Where it stands at power-up: only what switches off for good is on.
[[nodiscard]] bool starts_on(const StateRef& ref);

// What it hangs on: volts between two nodes, or the current of its branch. Sizes, not signs; 0 V between islands.
struct Quantity {
  NodeId red, black;
  std::size_t branch = 0;
  bool current = false;
};
[[nodiscard]] Quantity quantity_of(const Model& model, const StateRef& ref);
[[nodiscard]] double value_of(const Model& model, const Solution& solution, const StateRef& ref);
// V or A above zero where the state moves away from where it starts, below zero where it stays there.
[[nodiscard]] double margin_to_move(const Model& model, const StateRef& ref, double value);
// The same for staying there once it has moved: a coil holds on with less.
[[nodiscard]] double margin_to_stay(const Model& model, const StateRef& ref, double value);
// Of a branch that switched off for good: by how many sigmas it then carried more than it bears; 0: not worked out.
[[nodiscard]] double sigmas_when_gone(const States& states, std::size_t branch);
// May its tolerances reach the threshold? Cheap and generous: within kNearShare of it, or moved by what it no
// longer has.
[[nodiscard]] bool may_be_near(const Model& model, const States& states, const Solution& solution, const StateRef& ref);
// The same, if something moved it halfway to its threshold.
[[nodiscard]] bool may_come_near(const Model& model, const States& states, const Solution& solution,
                                 const StateRef& ref);
constexpr double kNearShare = 0.15;  // of the larger of the two

// Holds it on or off whatever its quantity. Empty: a coil none of whose contacts can move.
[[nodiscard]] std::vector<fault::Change> holding(const Model& model, const StateRef& ref, bool on);

// Which states stand otherwise than in another solution, as a number: the prints of all of them joined by xor. A
// driver has one, whatever moves it.
[[nodiscard]] std::uint32_t print_of(const StateRef& ref);
[[nodiscard]] bool has_print(circuit::ElementKind kind);

}  // namespace halfsplit::electrical
