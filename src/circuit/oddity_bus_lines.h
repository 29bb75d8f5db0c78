// SPDX-License-Identifier: Apache-2.0
// The lines of each bus for the checks of find_oddities: pieces of metal (nets), and which of them is a bus's high and
// which its low line, going by most of its seats. Internal to the room.
#pragma once

#include <cstddef>
#include <limits>
#include <string>
#include <vector>

#include "circuit/netlist.h"

namespace halfsplit::circuit {

class BusLines {
 public:
  static constexpr std::size_t kNoNet = std::numeric_limits<std::size_t>::max();

  BusLines(const Loom& loom, const Netlist& netlist);

  // The piece of metal a node is on.
  [[nodiscard]] std::size_t net(NodeId node) const { return node.is_none() ? kNoNet : nets_[node.index()]; }
  // Does any wire end on it?
  [[nodiscard]] bool is_wired(std::size_t net) const { return net != kNoNet && wired_[net] != 0; }
  // A frame is on it, or a battery's +.
  [[nodiscard]] bool is_pole(std::size_t net) const { return net != kNoNet && pole_[net] != 0; }

  struct Line {
    std::size_t high = kNoNet, low = kNoNet;  // kNoNet: no seat has a wire there; one-wire buses: no low
  };
  [[nodiscard]] const Line& line(std::size_t bus) const { return lines_[bus]; }
  // Seats of which a wire reaches a pin; a drawing of one circuit may leave a bus out.
  [[nodiscard]] const std::vector<const Transceiver*>& drawn_seats(std::size_t bus) const { return drawn_[bus]; }
  // Both lines are there, and are two.
  [[nodiscard]] bool is_pair(std::size_t bus) const {
    return lines_[bus].high != kNoNet && lines_[bus].low != kNoNet && lines_[bus].high != lines_[bus].low;
  }

 private:
  std::vector<std::size_t> nets_;
  std::vector<char> wired_, pole_;  // by net
  std::vector<Line> lines_;         // by bus
  std::vector<std::vector<const Transceiver*>> drawn_;
};

// Where a bus is declared; of an implied one, its first pin.
[[nodiscard]] base::Span bus_place(const Loom& loom, std::size_t bus);

}  // namespace halfsplit::circuit
