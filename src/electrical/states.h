// SPDX-License-Identifier: Apache-2.0
// How the states of parts follow from volts and amperes, in the order of their speed: diodes and filaments at once;
// then modules, relays, sensors and drivers; then what switches off for good, one at a time: drivers by their limit,
// fuses by melting (the most overloaded first). Both solving paths walk this order (docs/formats/loom.md, "States").
#pragma once

#include <functional>
#include <vector>

#include "electrical/model.h"

namespace halfsplit::electrical {

// A solution as something that can be asked; a node that is none reads 0 V.
class Solution {
 public:
  virtual ~Solution() = default;
  [[nodiscard]] virtual double volts(NodeId node) const = 0;
  [[nodiscard]] virtual double amperes(std::size_t branch) const = 0;
  // On one island? Between islands nothing is said of volts: their ties stand for nothing.
  [[nodiscard]] virtual bool together(NodeId a, NodeId b) const = 0;
  [[nodiscard]] double between(NodeId a, NodeId b) const { return together(a, b) ? volts(a) - volts(b) : 0.0; }
};

// Branches whose law can move with the solution; made once per model.
struct Stateful {
  std::vector<std::size_t> fast;    // diodes, filaments
  std::vector<std::size_t> middle;  // coils, ratios, drivers
  std::vector<std::size_t> last;    // drivers with a limit, fuses
  std::vector<circuit::ModuleId> modules;
};
[[nodiscard]] Stateful find_stateful(const Model& model);

// Each looks at the states named in `stateful` only and returns true when one moved.
[[nodiscard]] bool move_fast(const Model& model, const Stateful& stateful, const Solution& solution, States& states,
                             bool one_at_a_time);
[[nodiscard]] bool move_middle(const Model& model, const Stateful& stateful, const Solution& solution, States& states);
[[nodiscard]] bool move_last(const Model& model, const Stateful& stateful, const Solution& solution, States& states);

// A diode that is on and carries nothing: it joins two islands. Which it is hangs on the volts before it was on; one
// that was carried along from another circuit may be on wrongly.
[[nodiscard]] bool is_idle_diode(const Model& model, const Solution& solution, const States& states,
                                 std::size_t branch);

// A coil that is out above its drop-out volts stands where it also could be in, if it ever had been.
[[nodiscard]] bool stands_between(const Model& model, const Solution& solution, const States& states,
                                  std::size_t branch);

}  // namespace halfsplit::electrical
