// SPDX-License-Identifier: Apache-2.0
// A small bus, bit by bit: controllers (can_controller.h) that read one another through a matrix of their own, each
// with one periodic message. The slow and independent side of can/traffic.h; docs/formats/buses.md, "What becomes of
// the messages".
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "can/traffic.h"
#include "tests/bus_twin/can_controller.h"

namespace halfsplit::bus_twin {

struct Play {
  std::uint64_t seed = 1;       // priorities, phases, jitter, data
  std::size_t bits = 240'000;   // of which the first sixth is not counted
  double period_bits = 3'000;   // of each message; every one 10 % up or down at random
  double extended_share = 0.5;  // of nodes with 29-bit identifiers
  Choices choices;
};

struct Seen {
  // [sender * nodes + receiver]: messages that came before the next one was due, as a share of those that were due.
  std::vector<double> arrives;
  std::vector<double> sent;  // by node: share of its messages that it believes sent
  std::vector<double>
      busy;  // share of the bits in which it sends a frame of its own (or a flag), over that of a healthy bus
  std::vector<double> active, passive, bus_off;  // shares of the time
  std::vector<int> most_transmit_errors;
};

// A node reads dominant when it does not rest, when somebody it reads drives, or when somebody after whom it does not
// return drove one bit ago. Who takes no part drives nothing and reads nothing. A babbler always has a frame to send,
// before everybody else, and counts no errors; its row is not counted.
[[nodiscard]] Seen play(const can::Hearing& hearing, const Play& how);

}  // namespace halfsplit::bus_twin
