// SPDX-License-Identifier: Apache-2.0
// The circuit as it stands: netlist, configuration and faults brought together as a list of branches. A branch's law is
//     alpha*(Va-Vb) + kappa*(Vc-Vd) + beta*I = gamma
// so that an open is "I = 0", a short is "Va = Vb", both exact (docs/decisions/branch-current-form.md).
// Units: V, A, ohm. I flows from a to b.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "circuit/configuration.h"
#include "circuit/netlist.h"
#include "fault/fault.h"

namespace halfsplit::electrical {

using circuit::ElementId;
using circuit::NodeId;

// One branch, with everything its law depends on. Indices below Netlist::elements.size() are the elements; then come
// what is fitted, then what faults and meters add.
struct Branch {
  circuit::ElementKind kind = circuit::ElementKind::kResistor;
  NodeId a, b, c, d;
  double ohm = 0.0;
  double volt = 0.0;
  double share = 0.0;
  double blow_a = 0.0;
  double limit_a = 0.0;
  double off_ohm = 0.0;
  double drop_out_v = 0.0;
  double follows_v = 0.0;
  double inject_a = 0.0;  // a current source from a to b when `source` is set
  bool source = false;
  bool follows_below = false;
  bool normally_closed = false;
  bool connected = true;                               // false: plug apart, switch open, not commanded to run
  bool commanded = false;                              // driver: all its on_with setups are made
  std::int8_t force = -1;                              // 0 never conducts, 1 always
  std::uint32_t control = base::Id<void>::kNoneValue;  // relay contact: branch of its coil
  circuit::ModuleId module;
};

// Which branch behaves how just now.
struct States {
  std::vector<char> on;  // by branch: diode conducts, coil pulled in, fuse whole, driver allowed, sensor output alive
  std::vector<char> alive;     // by module
  std::vector<char> tripped;   // by branch: a driver that switched itself off for overload, until the key is cycled
  std::vector<double> lamp_v;  // by branch: the volts a filament's tangent is taken at
  // Branches that switched off for good, and by how many sigmas they then carried more than they bear, as far as it was
  // worked out. It is not part of how the circuit stands.
  std::vector<std::pair<std::size_t, double>> gone;
  friend bool operator==(const States& x, const States& y) {
    return x.on == y.on && x.alive == y.alive && x.tripped == y.tripped && x.lamp_v == y.lamp_v;
  }
};

constexpr char kHeldAlive = 2;  // the opposite of dead, whatever the supply

struct Model {
  std::size_t nodes = 0;
  std::vector<Branch> branches;
  std::vector<char> dead;                                       // by module: 1, or kHeldAlive
  std::vector<circuit::ModuleWiring> const* modules = nullptr;  // of the netlist, which outlives the model
  std::optional<States> stood;  // how it stood before; none, as always but in rests.h: the supply was off
};

// Netlist in a configuration; parts swapped for known-good ones keep the drawing's values.
[[nodiscard]] Model make_model(const circuit::Loom& loom, const circuit::Netlist& netlist,
                               const circuit::Configuration& configuration);

// Puts a fault's changes in. New branches are appended.
void apply_changes(Model& model, const std::vector<fault::Change>& changes);
// Drops the changes that a configuration has undone: by swapping the part or module they sit in, or by parting the plug
// that makes them.
[[nodiscard]] std::vector<fault::Change> remaining_changes(const circuit::Netlist& netlist,
                                                           const circuit::Configuration& configuration,
                                                           std::vector<fault::Change> changes);

// Where solving begins. Everything off, fuses whole, drivers allowed: the moment before the supply comes; or as it
// stood, branches put in since then being off.
[[nodiscard]] States starting_states(const Model& model);
// States of the same circuit with fewer or more branches put in at the end.
[[nodiscard]] States fitted_to(const Model& model, States states);

struct Law {
  double alpha = 0.0, kappa = 0.0, beta = 0.0, gamma = 0.0;
  friend bool operator==(const Law&, const Law&) = default;
  // Can current flow? Decides which nodes form an island.
  [[nodiscard]] bool conducts() const { return alpha != 0.0; }
};

[[nodiscard]] Law law_of(const Model& model, const States& states, std::size_t branch);

// Filament: current at v volts, and its slope.
[[nodiscard]] double lamp_current(const Branch& lamp, double v);
[[nodiscard]] double lamp_slope(const Branch& lamp, double v);

}  // namespace halfsplit::electrical
