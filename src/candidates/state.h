// SPDX-License-Identifier: Apache-2.0
// The vehicle as the technician has it, and the acts that change it: setups made, plugs apart, stand-ins and leads
// fitted, parts swapped. Every act has minutes both ways, needs, and a caution that stands where the act is. Setups
// that only give access and those that change the circuit are one list here, because both cost time and both can be
// left behind.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "candidates/hazards.h"
#include "circuit/configuration.h"
#include "circuit/netlist.h"
#include "evidence/observable.h"

namespace halfsplit::candidates {

struct Act {
  enum class Kind : std::uint8_t { kSetup, kUnplug, kFit, kSwapPart, kSwapModule };
  Kind kind = Kind::kSetup;
  circuit::SetupId setup;
  circuit::ConnectorId connector;
  circuit::Fitted fitted;
  circuit::PartId part;
  circuit::ModuleId module;
  friend auto operator<=>(const Act&, const Act&) = default;
};

constexpr const char* kLeadCaution = "Use a fused lead; take it off before the vehicle moves.";

// What an act asks for and costs.
struct ActRecord {
  Act act;
  std::string name;       // "cab-raised", "unplug J4", "fit 1k at B7:1 B7:2", "swap F3"
  std::string undo_name;  // "undo cab-raised", "plug J4", "remove 1k at B7:1 B7:2", "put back F3"
  double do_minutes = 0.0;
  double undo_minutes = 0.0;
  std::vector<Act> needs;
  std::vector<Act> excludes;
  std::string caution;  // its own, and those of the hazards it touches
  bool leave = false;   // may stay as it is
};

[[nodiscard]] ActRecord describe(const circuit::Loom& loom, const circuit::Netlist& netlist, const Act& act);
// Every act the loom itself offers: its setups and its plugs.
[[nodiscard]] std::vector<Act> loom_acts(const circuit::Loom& loom);

// Is the act done in this configuration?
[[nodiscard]] bool is_done(const circuit::Configuration& configuration, const Act& act);
void apply(circuit::Configuration& configuration, const Act& act, bool make);
// All acts done in it, setups first, in the loom's order.
[[nodiscard]] std::vector<Act> acts_of(const circuit::Configuration& configuration);

// What an act takes apart or swaps; nothing for a setup and for what is fitted.
[[nodiscard]] circuit::Item item_of(const Act& act);
// Of all that an act touches; of a setup none.
[[nodiscard]] std::vector<circuit::Hazard> hazards_of(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                                      const Act& act);

// Does a setup change the circuit, or only what hands can reach?
[[nodiscard]] bool is_electrical(const circuit::Loom& loom, circuit::SetupId setup);
// The part of a configuration that decides readings: access setups taken out.
[[nodiscard]] circuit::Configuration electrical_part(const circuit::Loom& loom,
                                                     const circuit::Configuration& configuration);

// A test taken in this state: the electrical part of it; of what is looked at, the plug that has to be apart for it.
void place_in(const circuit::Loom& loom, const circuit::Netlist& netlist, const circuit::Configuration& state,
              evidence::Observable& what);

// Setups a place needs, those needed by them included, in an order in which they can be made.
[[nodiscard]] std::vector<circuit::SetupId> access(const circuit::Loom& loom, circuit::PlaceId place);

}  // namespace halfsplit::candidates
