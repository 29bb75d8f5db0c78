// SPDX-License-Identifier: Apache-2.0
// Acknowledgement: byte 1 control (0 done, 1 not known, 2 denied, 3 busy), byte 2 group function, byte 5 the address it
// answers, bytes 6 to 8 the group, lowest first (SAE J1939-21, 5.4.4; the address since its issue of 2006).
#include "can/j1939_requests.h"

#include "can/j1939_id.h"

namespace halfsplit::can {

namespace {

std::uint32_t group_at(std::span<const std::uint8_t> bytes, std::size_t at) {
  const std::uint32_t group =
      bytes[at] | static_cast<std::uint32_t>(bytes[at + 1]) << 8 | static_cast<std::uint32_t>(bytes[at + 2]) << 16;
  return group & kLargestPgn;
}

}  // namespace

std::optional<std::uint32_t> read_request(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < 3) return std::nullopt;
  return group_at(bytes, 0);
}

std::optional<Acknowledgement> read_acknowledgement(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < 8) return std::nullopt;
  Acknowledgement reply;
  reply.control = bytes[0];
  reply.kind = bytes[0] < 4 ? static_cast<AcknowledgementKind>(bytes[0]) : AcknowledgementKind::kOther;
  reply.group_function = bytes[1];
  reply.address = bytes[4];
  reply.pgn = group_at(bytes, 5);
  return reply;
}

std::string_view acknowledgement_word(AcknowledgementKind kind) {
  switch (kind) {
    case AcknowledgementKind::kDone:
      return "done";
    case AcknowledgementKind::kNotKnown:
      return "not known here";
    case AcknowledgementKind::kDenied:
      return "denied";
    case AcknowledgementKind::kBusy:
      return "cannot answer now";
    case AcknowledgementKind::kOther:
      break;
  }
  return "other";
}

}  // namespace halfsplit::can
