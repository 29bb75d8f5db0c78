// SPDX-License-Identifier: Apache-2.0
// The 29 bits of a J1939 identifier, apart and together again (SAE J1939-21, 5.2). Every 29-bit number is one: bits 28
// to 26 priority, 25 extended data page, 24 data page, 23 to 16 PDU format, 15 to 8 PDU specific, 7 to 0 source
// address. Below a format of 240 the specific byte is the destination (PDU1), from 240 on it is part of the group
// (PDU2).
#pragma once

#include <cstdint>

namespace halfsplit::can {

constexpr std::uint8_t kNullAddress = 0xFE;    // has claimed none
constexpr std::uint8_t kGlobalAddress = 0xFF;  // everyone
constexpr std::uint32_t kLargestPgn = 0x3FFFF;

// Groups of the network layers themselves (J1939-21, -73, -81).
constexpr std::uint32_t kPgnAcknowledgement = 0xE800;
constexpr std::uint32_t kPgnRequest = 0xEA00;
constexpr std::uint32_t kPgnTransportData = 0xEB00;
constexpr std::uint32_t kPgnTransportControl = 0xEC00;
constexpr std::uint32_t kPgnAddressClaimed = 0xEE00;
constexpr std::uint32_t kPgnProprietaryA = 0xEF00;
constexpr std::uint32_t kPgnProprietaryA2 = 0x1EF00;

struct J1939Id {
  std::uint8_t priority = 6;  // 0 goes first, 7 last
  bool extended_data_page = false;
  bool data_page = false;
  std::uint8_t pdu_format = 0;
  std::uint8_t pdu_specific = 0;  // PDU1: who it is for; PDU2: the group extension
  std::uint8_t source = 0;

  // PDU1: sent to one address (or to kGlobalAddress), which stands in the identifier.
  [[nodiscard]] constexpr bool addressed() const { return pdu_format < 0xF0; }
  [[nodiscard]] constexpr std::uint8_t destination() const { return addressed() ? pdu_specific : kGlobalAddress; }
  // The parameter group, 18 bits; the destination is no part of it.
  [[nodiscard]] constexpr std::uint32_t pgn() const {
    return (extended_data_page ? 0x20000U : 0U) | (data_page ? 0x10000U : 0U) |
           static_cast<std::uint32_t>(pdu_format) << 8 | (addressed() ? 0U : pdu_specific);
  }
  friend bool operator==(const J1939Id&, const J1939Id&) = default;
};

// Bits above the 29th are ignored.
[[nodiscard]] constexpr J1939Id split_j1939_id(std::uint32_t id) {
  return {static_cast<std::uint8_t>(id >> 26 & 7U),
          (id >> 25 & 1U) != 0,
          (id >> 24 & 1U) != 0,
          static_cast<std::uint8_t>(id >> 16 & 0xFFU),
          static_cast<std::uint8_t>(id >> 8 & 0xFFU),
          static_cast<std::uint8_t>(id & 0xFFU)};
}

// The same without the rest, for loops over millions of frames.
[[nodiscard]] constexpr std::uint32_t j1939_pgn(std::uint32_t id) {
  const std::uint32_t group = id >> 8 & 0x3FFFFU;
  return (group & 0xFF00U) < 0xF000U ? group & 0x3FF00U : group;
}
[[nodiscard]] constexpr std::uint8_t j1939_source(std::uint32_t id) { return static_cast<std::uint8_t>(id & 0xFFU); }

[[nodiscard]] constexpr std::uint32_t join_j1939_id(const J1939Id& id) {
  return static_cast<std::uint32_t>(id.priority & 7U) << 26 | (id.extended_data_page ? 1U << 25 : 0U) |
         (id.data_page ? 1U << 24 : 0U) | static_cast<std::uint32_t>(id.pdu_format) << 16 |
         static_cast<std::uint32_t>(id.pdu_specific) << 8 | id.source;
}

// A group as an identifier. `destination` counts for groups that are addressed only; a PGN's lowest byte is then 0.
[[nodiscard]] constexpr J1939Id make_j1939_id(std::uint32_t pgn, std::uint8_t source,
                                              std::uint8_t destination = kGlobalAddress, std::uint8_t priority = 6) {
  J1939Id id = split_j1939_id(pgn << 8 | source);
  id.priority = priority;
  if (id.addressed()) id.pdu_specific = destination;
  return id;
}

// Proprietary groups (A, A2, B: 0xFF00 to 0xFFFF and 0x1FF00 to 0x1FFFF): their bytes mean what the maker wishes.
[[nodiscard]] constexpr bool is_proprietary(std::uint32_t pgn) {
  return pgn == kPgnProprietaryA || pgn == kPgnProprietaryA2 || (pgn & 0x2FF00U) == 0xFF00U;
}

}  // namespace halfsplit::can
