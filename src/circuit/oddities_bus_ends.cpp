// SPDX-License-Identifier: Apache-2.0
// A high-speed bus wants a terminator at each of its two ends (ISO 11898-2: 100 to 130 ohm each), a line of 40 m at
// most, and short stubs (SAE J1939-11: 1 m, J1939-15: 3 m; ISO 11992-1 and LIN: 40 m). Figures: can_levels.csv of the
// tables of facts. Only lengths that the drawing says are counted.
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <queue>
#include <string>
#include <utility>
#include <vector>

#include "base/number.h"
#include "circuit/bus_kinds.h"
#include "circuit/metal.h"
#include "circuit/oddity_bus_lines.h"
#include "circuit/oddity_checks.h"

namespace halfsplit::circuit {

namespace {

constexpr double kMostTerminatorOhm = 1000.0;  // between the lines; more is a pull-up or a tester (ours)
constexpr double kLeastAcrossOhm = 47.0, kMostAcrossOhm = 75.0;  // two of 100 to 130 ohm make 50 to 65; with a margin
constexpr double kMostBusMetres = 40.0, kMostStubMetres = 3.0;

std::string rounded(double value) { return base::format_significant(value, 2); }

// What lies across the lines of a bus.
struct Across {
  std::size_t count = 0;
  double siemens = 0.0;
  std::vector<NodeId> on_high;  // where each hangs on the high line
};

class EndCheck {
 public:
  EndCheck(const Loom& loom, const Netlist& netlist, OddityList& list)
      : loom_(loom), netlist_(netlist), list_(list), lines_(loom, netlist), arcs_(netlist.node_count()) {
    for (const Element& e : netlist.elements)
      if (is_metal(e.kind)) {
        const double metres = e.kind == ElementKind::kWire ? loom.wires[e.item.index].length_m.value_or(0.0) : 0.0;
        arcs_[e.a.index()].push_back({e.b.index(), metres});
        arcs_[e.b.index()].push_back({e.a.index(), metres});
      }
  }

  void run() {
    for (std::size_t b = 0; b < loom_.buses.size(); ++b) {
      const bool drawn = lines_.drawn_seats(b).size() >= 2;
      if (!drawn || lines_.line(b).high == BusLines::kNoNet) continue;
      Across across;
      const bool can = loom_.buses[b].kind == BusKind::kCan;
      if (can && lines_.is_pair(b)) {
        across = find_across(lines_.line(b));
        check_terminators(b, across);
      }
      check_length(b, across);
    }
  }

 private:
  using Metres = std::vector<double>;  // by node; infinite: not on this line

  // --- terminators ---

  // Resistors straight from line to line, and two in series with nothing but each other between (a split terminator).
  [[nodiscard]] Across find_across(const BusLines::Line& line) const {
    Across across;
    std::map<std::size_t, std::pair<double, double>> middles;  // net -> siemens to high, to low
    std::map<std::size_t, NodeId> on_high;
    for (const Element& e : netlist_.elements) {
      if (e.kind != ElementKind::kResistor || e.ohm > kMostTerminatorOhm) continue;
      std::size_t a = lines_.net(e.a), b = lines_.net(e.b);
      NodeId at = e.a;
      if (b == line.high || a == line.low) {
        std::swap(a, b);
        at = e.b;
      }
      if (a == line.high && b == line.low) {
        ++across.count;
        across.siemens += 1.0 / e.ohm;
        across.on_high.push_back(at);
      } else if (a == line.high && !lines_.is_pole(b)) {
        middles[b].first += 1.0 / e.ohm;
        on_high.emplace(b, at);
      } else if (b == line.low && !lines_.is_pole(a)) {
        middles[a].second += 1.0 / e.ohm;
      }
    }
    for (const auto& [net, siemens] : middles) {
      if (siemens.first == 0.0 || siemens.second == 0.0) continue;
      ++across.count;
      across.siemens += siemens.first * siemens.second / (siemens.first + siemens.second);
      across.on_high.push_back(on_high.at(net));
    }
    return across;
  }

  void check_terminators(std::size_t b, const Across& across) {
    const Bus& bus = loom_.buses[b];
    const base::Span where = bus_place(loom_, b);
    if (across.count == 0)
      return list_.warn("bus-terminators", where, "bus " + bus.name + " has no terminator between high and low",
                        "draw one of 120 ohm at each end: a part of kind terminator, or `inside` of the module there");
    const double ohm = 1.0 / across.siemens;
    const std::string found =
        (across.count == 1 ? std::string("one terminator") : std::to_string(across.count) + " terminators") +
        " between high and low, " + rounded(ohm) + " ohm in all";
    if (ohm > kMostAcrossOhm)
      list_.warn("bus-terminators", where, "bus " + bus.name + " has " + found + "; two of 120 ohm make 60",
                 "draw the other one, at the other end of the bus");
    else if (ohm < kLeastAcrossOhm)
      list_.warn("bus-terminators", where, "bus " + bus.name + " has " + found + "; two of 120 ohm make 60",
                 "a bus has two, one at each end: take the others away");
    else if (across.count == 1)
      list_.note("bus-terminators", where,
                 "bus " + bus.name + " has " + found + ": all at one end, where two of 120 ohm belong to the two ends",
                 "draw the two where they are, or leave it when the drawing says so");
  }

  // --- lengths ---

  [[nodiscard]] Metres metres_from(const std::vector<std::size_t>& starts) const {
    Metres metres(arcs_.size(), std::numeric_limits<double>::infinity());
    using Entry = std::pair<double, std::size_t>;
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> queue;
    for (const std::size_t start : starts) queue.emplace(metres[start] = 0.0, start);
    while (!queue.empty()) {
      const auto [so_far, node] = queue.top();
      queue.pop();
      if (so_far > metres[node]) continue;
      for (const auto& [next, length] : arcs_[node])
        if (so_far + length < metres[next]) queue.emplace(metres[next] = so_far + length, next);
    }
    return metres;
  }

  static std::size_t farthest(const Metres& metres) {
    std::size_t far = 0;
    double most = -1.0;
    for (std::size_t n = 0; n < metres.size(); ++n)
      if (std::isfinite(metres[n]) && metres[n] > most) most = metres[far = n];
    return far;
  }

  // Nodes of the shortest way between two of one line: where the ways from both ends add up to it.
  static std::vector<std::size_t> way_between(const Metres& from_a, const Metres& from_b, double length) {
    std::vector<std::size_t> way;
    for (std::size_t n = 0; n < from_a.size(); ++n)
      if (from_a[n] + from_b[n] <= length + 1.0e-9) way.push_back(n);
    return way;
  }

  void check_length(std::size_t b, const Across& across) {
    const Bus& bus = loom_.buses[b];
    if (bus.kind == BusKind::kCanFaultTolerant || bus.kind == BusKind::kCanSingleWire) return;  // no figure is known
    const NodeId start = lines_.drawn_seats(b).front()->high;
    const bool trunk = across.on_high.size() == 2;
    const std::size_t one = trunk ? across.on_high[0].index() : farthest(metres_from({start.index()}));
    const Metres from_one = metres_from({one});
    const std::size_t two = trunk ? across.on_high[1].index() : farthest(from_one);
    if (std::isfinite(from_one[two]) && from_one[two] > kMostBusMetres)
      list_.note("bus-length", bus_place(loom_, b),
                 "bus " + bus.name + " is " + rounded(from_one[two]) + " m from end to end; " +
                     std::string(bus_kind(bus.kind).standard) + " networks are laid out for 40 m",
                 "look for a slip in a length");
    if (trunk) check_stubs(b, way_between(from_one, metres_from({two}), from_one[two]));
  }

  void check_stubs(std::size_t b, const std::vector<std::size_t>& trunk) {
    const Metres off = metres_from(trunk);
    for (const Transceiver* seat : lines_.drawn_seats(b)) {
      const double stub = off[seat->high.index()];
      if (!std::isfinite(stub) || stub <= kMostStubMetres) continue;
      const Module& module = loom_.modules[seat->module.index()];
      list_.note("bus-stub", module.where,
                 module.name + " hangs on a stub of " + rounded(stub) + " m off bus " + loom_.buses[b].name +
                     "; SAE J1939 advises 1 m (shielded pair) or 3 m",
                 "look for a slip in a length, or in which modules hold the terminators");
    }
  }

  const Loom& loom_;
  const Netlist& netlist_;
  OddityList& list_;
  BusLines lines_;
  std::vector<std::vector<std::pair<std::size_t, double>>> arcs_;  // by node: next node, metres
};

}  // namespace

void check_bus_ends(const Loom& loom, const OddityGraph& graph, OddityList& list) {
  EndCheck(loom, graph.netlist(), list).run();
}

}  // namespace halfsplit::circuit
