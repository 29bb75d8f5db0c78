// SPDX-License-Identifier: Apache-2.0
// Trailer sockets by their standards: which pin carries what, in which colour, over which pin it returns. Words are
// ours. Sources: tests/data/facts/trailer_sockets.csv, row by row; which pins share a return where the table does not
// say so (ISO 12098, 7638, 3732) from memory. mm2 is the least the standard asks for.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace halfsplit::formats {

enum class SocketUse : std::uint8_t {
  kLamps,
  kReturn,
  kPermanent,
  kSwitched,
  kWarningLamp,
  kSignal,  // between two modules whose insides are not known
  kFree,
};

struct SocketPin {
  std::string_view cavity;
  SocketUse use = SocketUse::kFree;
  std::string_view function;  // "left turn signal"
  std::string_view colour;    // IEC 60757, as a run writes it; empty: none given
  double mm2 = 1.5;
  std::string_view returns_over = {};  // cavity; empty: none
  std::string_view name = {};          // of what hangs on it: "turn-left"
  std::string_view lamps = {};         // "21 left/21 right": watts and where, one lamp each
};

struct TrailerSocket {
  std::string_view name;      // "24N"
  std::string_view standard;  // "ISO 1185 (24N)"
  double volts = 24.0;
  bool brakes = false;  // what goes through it acts on the brakes
  std::span<const SocketPin> pins;
};

[[nodiscard]] std::span<const TrailerSocket> trailer_sockets();
[[nodiscard]] const TrailerSocket* find_trailer_socket(std::string_view name);

}  // namespace halfsplit::formats
