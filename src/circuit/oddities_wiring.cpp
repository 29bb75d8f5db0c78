// SPDX-License-Identifier: Apache-2.0
// What the drawing itself shows, without any electricity: cavities with two wires, wires that end nowhere, wires
// without a size, plugs and parts that no wire reaches.
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "circuit/netlist.h"
#include "circuit/oddity_checks.h"
#include "circuit/part_kinds.h"

namespace halfsplit::circuit {

namespace {

using CavityKey = std::tuple<std::uint32_t, std::string, std::uint8_t>;

// How often wires end where.
struct EndCounts {
  std::map<CavityKey, std::size_t> cavities;
  std::map<std::uint32_t, std::size_t> splices, studs;
  std::set<std::uint32_t> connectors, parts;
};

void count_end(const Loom& loom, const EndPoint& end, EndCounts& counts) {
  switch (end.kind) {
    case EndPoint::Kind::kCavity:
      ++counts.cavities[{end.connector.value, end.cavity, end.side}];
      counts.connectors.insert(end.connector.value);
      if (const PartId part = loom.connectors[end.connector.index()].part; !part.is_none())
        counts.parts.insert(part.value);
      return;
    case EndPoint::Kind::kSplice:
      ++counts.splices[end.splice.value];
      return;
    case EndPoint::Kind::kStud:
      ++counts.studs[end.stud.value];
      return;
    case EndPoint::Kind::kTerminal:
      counts.parts.insert(end.part.value);
      return;
    case EndPoint::Kind::kFrame:
      return;
  }
}

bool is_inline(const Connector& connector) { return connector.module.is_none() && connector.part.is_none(); }

class WiringCheck {
 public:
  WiringCheck(const Loom& loom, OddityList& list) : loom_(loom), list_(list) {
    for (const Wire& wire : loom.wires) {
      count_end(loom, wire.from, counts_);
      count_end(loom, wire.to, counts_);
    }
  }

  void run() {
    for (const Wire& wire : loom_.wires) {
      check_end(wire, wire.from);
      check_end(wire, wire.to);
      if (!wire.size_mm2 && !wire.ohm)
        list_.note("wire-without-size", wire.where, "wire " + wire.name + " says no size; " + size_text() + " is taken",
                   "write it in the run: -[0.5mm2]->");
    }
    check_unused();
  }

 private:
  std::string size_text() const {
    std::string text = std::to_string(loom_.defaults.wire_size_mm2);
    while (text.back() == '0') text.pop_back();
    return text + (text.back() == '.' ? "0" : "") + " mm2";
  }

  void check_end(const Wire& wire, const EndPoint& end) {
    if (end.kind == EndPoint::Kind::kSplice && counts_.splices[end.splice.value] == 1)
      list_.warn(
          "dead-end", wire.where,
          "wire " + wire.name + " ends at splice " + loom_.splices[end.splice.index()].name + ", and nothing else does",
          "a splice joins at least two wires: draw the others, or end the wire elsewhere");
    if (end.kind != EndPoint::Kind::kCavity) return;
    check_cavity(wire, end);
  }

  void check_cavity(const Wire& wire, const EndPoint& end) {
    const Connector& connector = loom_.connectors[end.connector.index()];
    const std::size_t here = counts_.cavities[{end.connector.value, end.cavity, end.side}];
    const std::string point = end_point_name(loom_, end);
    if (here > 1 && twice_.insert({end.connector.value, end.cavity, end.side}).second)
      list_.warn("cavity-used-twice", wire.where, std::to_string(here) + " wires end in " + point,
                 "one cavity holds one wire: draw a splice, or look for a slip in the number");
    // A socket that is never parted is used from its front: a diagnostic socket, a power outlet.
    if (!is_inline(connector) || !connector.pluggable) return;
    const auto other = static_cast<std::uint8_t>(end.side ^ 1U);
    if (counts_.cavities.count({end.connector.value, end.cavity, other}) > 0) return;
    list_.warn("dead-end", wire.where,
               "wire " + wire.name + " ends at " + point + ", and no wire goes on from the other side",
               "draw the wire on side " + connector.sides[other] + ", or end it elsewhere");
  }

  void check_unused() {
    for (std::size_t i = 0; i < loom_.connectors.size(); ++i) {
      const Connector& connector = loom_.connectors[i];
      if (connector.part.is_none() && counts_.connectors.count(static_cast<std::uint32_t>(i)) == 0)
        list_.warn("unused-connector", connector.where, "no wire ends at " + connector.name,
                   "draw its wires, or leave it out");
    }
    for (std::size_t i = 0; i < loom_.parts.size(); ++i)
      if (counts_.parts.count(static_cast<std::uint32_t>(i)) == 0)
        list_.warn("unused-part", loom_.parts[i].where, "no wire ends at " + loom_.parts[i].name,
                   "draw its wires, or leave it out");
    for (std::size_t i = 0; i < loom_.splices.size(); ++i)
      if (counts_.splices.count(static_cast<std::uint32_t>(i)) == 0)
        list_.warn("unused-splice", loom_.splices[i].where, "no wire ends at splice " + loom_.splices[i].name,
                   "draw its wires, or leave it out");
    for (std::size_t i = 0; i < loom_.studs.size(); ++i)
      if (counts_.studs.count(static_cast<std::uint32_t>(i)) == 0)
        list_.warn("unused-stud", loom_.studs[i].where, "no wire ends at stud " + loom_.studs[i].name,
                   "draw its wires, or leave it out");
  }

  const Loom& loom_;
  OddityList& list_;
  EndCounts counts_;
  std::set<CavityKey> twice_;
};

}  // namespace

void check_wiring(const Loom& loom, OddityList& list) { WiringCheck(loom, list).run(); }

}  // namespace halfsplit::circuit
