// SPDX-License-Identifier: Apache-2.0
// The universe while it grows: how a fault and its repair are put in, and what several subjects ask of the netlist.
// Internal to the room; the subjects are universe.cpp (contacts, joints, wires), part_faults.cpp, module_faults.cpp and
// neighbour_faults.cpp.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "circuit/metal.h"
#include "fault/fault.h"
#include "fault/rates.h"

namespace halfsplit::fault {

// Nodes joined by metal alone: wires, contacts, joints.
class Nets {
 public:
  explicit Nets(const circuit::Netlist& netlist) : label_(circuit::label_nets(netlist)) {}
  [[nodiscard]] std::size_t find(std::size_t node) const { return label_[node]; }
  [[nodiscard]] bool same(circuit::NodeId a, circuit::NodeId b) const { return find(a.index()) == find(b.index()); }

 private:
  std::vector<std::size_t> label_;
};

// What faults sit on, and what mends them.
struct Site {
  std::string name;         // "J4:12"
  std::string description;  // "J4 cavity 12"
  circuit::Item item;
  circuit::PlaceId place;
  double rate = 1.0;
  std::string_view row;  // item of the rate table
  RepairId repair;
};

class FaultList {
 public:
  FaultList(const circuit::Loom& loom, const circuit::Netlist& netlist, const RateOverlay& learned);

  const circuit::Loom& loom;
  const circuit::Netlist& net;
  Nets nets;

  // A fault without its element or nodes; put() takes it in.
  [[nodiscard]] Fault start(const Site& site, FaultKind kind, const std::string& suffix, const std::string& what) const;
  void put(Fault fault) { universe_.faults.push_back(std::move(fault)); }
  // Of one element.
  void put(const Site& site, FaultKind kind, circuit::ElementId element, const std::string& suffix,
           const std::string& what);
  // A resistance between two nodes; `share` scales the rate.
  void put_branch(const Site& site, FaultKind kind, circuit::NodeId a, circuit::NodeId b, const std::string& suffix,
                  const std::string& what, double share = 1.0);
  // Open, high, comes and goes: of whatever joins two pieces of metal.
  void put_joint(const Site& site, circuit::ElementId element, std::string_view open, std::string_view high,
                 std::string_view intermittent);
  // Once for each pair of lines, at its first terminator.
  void put_doubled(const Site& site, const circuit::Element& terminator);

  // The repair of these words; the first to ask for it says what it takes.
  RepairId repair(std::string_view row, const std::string& name, circuit::PlaceId place, const circuit::Item& item,
                  std::optional<double> minutes, std::optional<double> money, const std::string& part = "",
                  circuit::ConnectorId unplugs = {});

  [[nodiscard]] Site contact_site(circuit::ConnectorId id, const std::string& cavity);
  [[nodiscard]] circuit::PlaceId place_of(const circuit::Wire& wire) const;
  [[nodiscard]] bool at_ground(circuit::NodeId node);  // metal alone leads to a frame or to - of the supply battery
  [[nodiscard]] bool at_supply(circuit::NodeId node);  // ... to + of the supply battery

  [[nodiscard]] Universe take() { return std::move(universe_); }

 private:
  Universe universe_;
  const RateOverlay& learned_;
  std::map<std::string, RepairId> repairs_;
  std::set<std::pair<std::size_t, std::size_t>> doubled_;  // pairs of lines that have theirs
};

void add_part_faults(FaultList& list, circuit::ElementId id);
void add_faults_inside(FaultList& list, circuit::ElementId id);  // of a module's pins
void add_module_faults(FaultList& list, circuit::ModuleId id);   // of a module as a whole
void add_neighbours_in_plugs(FaultList& list);
void add_neighbours_in_bundles(FaultList& list);

}  // namespace halfsplit::fault
