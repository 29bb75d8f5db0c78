// SPDX-License-Identifier: Apache-2.0
// The rules of can/traffic.h beside what the twin shows, for one class of fault.
#pragma once

#include <cstdint>
#include <iosfwd>

#include "tests/bus_twin/bus_twin.h"
#include "tests/bus_twin/fault_classes.h"

namespace halfsplit::bus_twin {

// Pairs of sender and reader that take part and do not babble.
struct Agreement {
  std::size_t buses = 0, pairs = 0;
  std::size_t near = 0;        // within 0.25
  std::size_t far = 0;         // off by more than 0.5
  std::size_t said_sure = 0;   // the rule says always or never
  std::size_t sure_wrong = 0;  // of these, off by more than 0.15
  double absolute = 0.0;       // sum of differences
  double signed_sum = 0.0;     // twin less rule
  double square = 0.0;
  std::size_t nodes = 0, busy_near = 0;  // nodes whose time on the bus is within a factor of three, or both under 0.06
  void add(const Agreement& other);
};

// Every bus is played `rounds` times: other priorities and phases, and the choices the standard leaves, in turn.
[[nodiscard]] Agreement compare(const FaultClass& fault, std::size_t buses, std::size_t rounds, std::uint64_t seed);
[[nodiscard]] Agreement compare(const can::Hearing& bus, std::size_t rounds, std::uint64_t seed);
std::ostream& operator<<(std::ostream& out, const Agreement& agreement);

}  // namespace halfsplit::bus_twin
