// SPDX-License-Identifier: Apache-2.0
// Is each bus one piece of metal, or two? Seats that hang on nothing or on another bus, pairs drawn crosswise, rings, a
// code reader beside the bus, the commander of a LIN bus.
#include <algorithm>
#include <map>
#include <numeric>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "circuit/bus_kinds.h"
#include "circuit/metal.h"
#include "circuit/oddity_bus_lines.h"
#include "circuit/oddity_checks.h"

namespace halfsplit::circuit {

namespace {

class BusCheck {
 public:
  BusCheck(const Loom& loom, const Netlist& netlist, OddityList& list)
      : loom_(loom), netlist_(netlist), list_(list), lines_(loom, netlist) {}

  void run() {
    for (std::size_t b = 0; b < loom_.buses.size(); ++b)
      for (std::size_t other = 0; other < loom_.buses.size(); ++other)
        if (other != b) check_joined(b, other);
    for (std::size_t b = 0; b < loom_.buses.size(); ++b) check_bus(b);
  }

 private:
  void check_bus(std::size_t b) {
    const Bus& bus = loom_.buses[b];
    if (bus.declared && netlist_.buses[b].seats.size() < 2) return check_alone(b);
    check_commander(b);
    if (lines_.drawn_seats(b).empty()) return;  // the drawing leaves its wires out
    const BusLines::Line& line = lines_.line(b);
    if (line.high == line.low && line.high != BusLines::kNoNet) {
      list_.warn("bus-crossed", bus_place(loom_, b), "wires join the high and the low line of bus " + bus.name,
                 "look for a slip in a cavity or a splice");
      return;
    }
    for (const std::size_t s : netlist_.buses[b].seats) check_seat(b, netlist_.transceivers[s]);
    check_addresses(b);
    check_ring(b);
    check_reader(b);
  }

  void check_addresses(std::size_t b) {
    std::map<std::uint32_t, const Module*> known;
    for (const std::size_t s : netlist_.buses[b].seats) {
      const Module& module = module_of(netlist_.transceivers[s]);
      if (!module.address) continue;
      const auto [first, fresh] = known.emplace(*module.address, &module);
      if (!fresh && first->second != &module)
        list_.warn("address-twice", module.where,
                   first->second->name + " and " + module.name + " have source address " +
                       std::to_string(*module.address) + " on one bus",
                   "each module of a bus has an address of its own: look at the drawing or a recording");
    }
  }

  void check_alone(std::size_t b) {
    const Bus& bus = loom_.buses[b];
    const BusWiring& wiring = netlist_.buses[b];
    const std::string who =
        wiring.seats.empty() ? "no module" : "only " + module_of(netlist_.transceivers[wiring.seats.front()]).name;
    list_.warn("bus-alone", bus.where, who + " sits on bus " + bus.name + ": nobody hears anybody there",
               "draw the other modules with their pins on it, or leave the bus out");
  }

  // --- seats ---

  [[nodiscard]] const Module& module_of(const Transceiver& seat) const { return loom_.modules[seat.module.index()]; }

  // Where the module's pin on this bus was written.
  [[nodiscard]] base::Span pin_place(const Transceiver& seat, bool low) const {
    const Module& module = module_of(seat);
    base::Span where = module.where;
    for (const ModulePin& pin : module.pins)
      if (pin.bus == seat.bus && (pin.role == PinRole::kCanLow) == low) where = pin.where;
    return where;
  }

  void check_seat(std::size_t b, const Transceiver& seat) {
    if (joined_seats_.count(&seat) > 0) return;
    const Bus& bus = loom_.buses[b];
    const BusLines::Line& line = lines_.line(b);
    const std::size_t high = lines_.net(seat.high), low = lines_.net(seat.low);
    if (!bus.declared && !lines_.is_wired(high) && !lines_.is_wired(low)) return;  // drawn as if it were no bus
    const std::string name = module_of(seat).name;
    if (lines_.is_pair(b) && high == line.low && low == line.high) {
      list_.warn("bus-crossed", pin_place(seat, false),
                 "high and low of " + name + " are crossed: its can-high pin is on the low line of bus " + bus.name +
                     ", its can-low pin on the high line",
                 "change the two pins over, or their wires where the lines cross");
      return;
    }
    const bool high_apart = high != line.high, low_apart = !seat.low.is_none() && low != line.low;
    if (!high_apart && !low_apart) return;
    const std::string what = seat.low.is_none() ? "its pin"
                             : high_apart && low_apart
                                 ? "its pins"
                                 : (high_apart ? std::string("its can-high pin") : std::string("its can-low pin"));
    list_.warn("bus-apart", pin_place(seat, !high_apart),
               "no wires join " + name + " to the rest of bus " + bus.name + ": " + what + " hang" +
                   (what == "its pins" ? "" : "s") + " elsewhere",
               bus.declared ? "draw its wires to the bus, or name its bus with bus = \"NAME\""
                            : "draw its wires to the bus; two buses are told apart in [buses]");
  }

  // --- two buses in one piece of metal ---

  [[nodiscard]] std::size_t count_on(std::size_t b, std::size_t net) const {
    const std::vector<std::size_t>& seats = netlist_.buses[b].seats;
    return static_cast<std::size_t>(std::count_if(seats.begin(), seats.end(), [&](std::size_t s) {
      return lines_.net(netlist_.transceivers[s].high) == net || lines_.net(netlist_.transceivers[s].low) == net;
    }));
  }

  // Of two buses on one piece of metal, the one with fewer seats there is in the wrong place; of equals the later one.
  [[nodiscard]] bool intrudes(std::size_t b, std::size_t other, std::size_t net) const {
    const std::size_t mine = count_on(b, net), theirs = count_on(other, net);
    return mine < theirs || (mine == theirs && b > other);
  }

  void check_joined(std::size_t b, std::size_t other) {
    const BusLines::Line& line = lines_.line(other);
    for (const std::size_t s : netlist_.buses[b].seats) {
      const Transceiver& seat = netlist_.transceivers[s];
      for (const bool low : {false, true}) {
        const std::size_t net = lines_.net(low ? seat.low : seat.high);
        if (net == BusLines::kNoNet || (net != line.high && net != line.low) || !intrudes(b, other, net)) continue;
        joined_seats_.insert(&seat);
        if (!joined_.insert(std::minmax(b, other)).second) continue;
        list_.warn("buses-joined", pin_place(seat, low),
                   "wires join this pin of " + module_of(seat).name + ", of bus " + loom_.buses[b].name + ", to the " +
                       (net == line.high ? high_word(other) : "low line") + " of bus " + loom_.buses[other].name,
                   "name the right bus at the pin, or look for a slip in a cavity or a splice");
      }
    }
  }

  [[nodiscard]] std::string high_word(std::size_t b) const {
    return bus_kind(loom_.buses[b].kind).two_wires ? "high line" : "wire";
  }

  // --- rings ---

  // The wire that closes a loop in this piece of metal; none when it is a tree.
  [[nodiscard]] const Wire* closing_wire(std::size_t net) const {
    std::vector<std::size_t> parent(netlist_.node_count());
    std::iota(parent.begin(), parent.end(), std::size_t{0});
    const auto find = [&](std::size_t n) {
      while (parent[n] != n) n = parent[n] = parent[parent[n]];
      return n;
    };
    for (const Element& e : netlist_.elements)
      if (is_metal(e.kind) && e.kind != ElementKind::kWire) parent[find(e.a.index())] = find(e.b.index());
    for (std::size_t w = 0; w < loom_.wires.size(); ++w) {
      const Element& e = netlist_.elements[netlist_.wire_elements[w].index()];
      if (lines_.net(e.a) != net) continue;
      const std::size_t a = find(e.a.index()), b = find(e.b.index());
      if (a == b) return &loom_.wires[w];
      parent[a] = b;
    }
    return nullptr;
  }

  void check_ring(std::size_t b) {
    const BusLines::Line& line = lines_.line(b);
    const Wire* high = line.high == BusLines::kNoNet ? nullptr : closing_wire(line.high);
    const Wire* low = line.low == BusLines::kNoNet ? nullptr : closing_wire(line.low);
    if (high == nullptr && low == nullptr) return;
    const Wire& first = high != nullptr ? *high : *low;
    const bool both = high != nullptr && low != nullptr;
    const std::string which = !bus_kind(loom_.buses[b].kind).two_wires ? "the wire"
                              : both                                   ? "both lines"
                                     : (high != nullptr ? "the high line" : "the low line");
    list_.warn("bus-ring", first.where,
               which + " of bus " + loom_.buses[b].name + " make" + (both ? "" : "s") + " a ring, closed by wire " +
                   first.name + (both ? " and by wire " + low->name : ""),
               "a bus is a line with stubs: take the wire away, or look for a splice named twice");
  }

  // --- the rest ---

  void check_reader(std::size_t b) {
    const Bus& bus = loom_.buses[b];
    const BusWiring& wiring = netlist_.buses[b];
    if (!bus.reader_high) return;
    const BusLines::Line& line = lines_.line(b);
    const std::size_t high = lines_.net(wiring.reader_high), low = lines_.net(wiring.reader_low);
    if (high == line.high && (!bus.reader_low || low == line.low)) return;
    const bool crossed = lines_.is_pair(b) && high == line.low && low == line.high;
    list_.warn("reader-off-bus", bus.where,
               crossed ? "the code reader of bus " + bus.name + " has its points crossed: the first is on the low line"
                       : "no wires join the point " +
                             end_point_name(loom_, high == line.high ? *bus.reader_low : *bus.reader_high) +
                             ", where the code reader of bus " + bus.name + " sits, to that bus",
               crossed ? "write high first, then low" : "name a point of the bus, or draw the wires of the socket");
  }

  void check_commander(std::size_t b) {
    const Bus& bus = loom_.buses[b];
    if (bus.kind != BusKind::kLin) return;
    std::vector<const ModulePin*> commanders;
    for (const Module& module : loom_.modules)
      for (const ModulePin& pin : module.pins)
        if (pin.bus == BusId(b) && pin.commander) commanders.push_back(&pin);
    if (commanders.empty())
      list_.warn("lin-commander", bus.where, "LIN bus " + bus.name + " has no commander: its pull-ups are weak",
                 "write commander = true at the pin of the module that asks the others");
    if (commanders.size() > 1)
      list_.warn("lin-commander", commanders[1]->where,
                 "LIN bus " + bus.name + " has " + std::to_string(commanders.size()) + " commanders",
                 "one module asks, the others answer: leave commander = true at one pin");
  }

  const Loom& loom_;
  const Netlist& netlist_;
  OddityList& list_;
  BusLines lines_;
  std::set<std::pair<std::size_t, std::size_t>> joined_;
  std::set<const Transceiver*> joined_seats_;
};

}  // namespace

void check_buses(const Loom& loom, const OddityGraph& graph, OddityList& list) {
  BusCheck(loom, graph.netlist(), list).run();
}

}  // namespace halfsplit::circuit
