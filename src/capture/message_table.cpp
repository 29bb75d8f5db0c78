// SPDX-License-Identifier: Apache-2.0
#include "capture/message_table.h"

#include <utility>

#include "can/iso_tp.h"
#include "can/j1939_id.h"
#include "can/transport.h"
#include "can/trouble_codes.h"
#include "capture/supply_volts.h"

namespace halfsplit::capture {

Role role_of(const can::Frame& frame) {
  if (can::IsoTp::concerns(frame)) return Role::kDiagnostic;
  if (!frame.extended) return Role::kPlain;
  const std::uint32_t pgn = can::j1939_pgn(frame.id);
  if (pgn == can::kPgnAddressClaimed) return Role::kClaim;
  if (pgn == can::kPgnRequest) return Role::kRequest;
  if (pgn == can::kPgnAcknowledgement) return Role::kAcknowledgement;
  if (can::Transport::concerns(frame.id)) return Role::kTransport;
  if (can::find_code_group(pgn) != nullptr) return Role::kCodes;
  return pgn == kPgnSupply ? Role::kVolts : Role::kPlain;
}

SenderKey key_of_sender(const can::Frame& frame) {
  return {frame.channel, frame.extended,
          static_cast<std::uint16_t>(frame.extended ? can::j1939_source(frame.id) : frame.id)};
}

void MessageTable::put(std::uint64_t key, std::uint32_t number) {
  std::size_t s = place(key);
  while (slots_[s] != kEmpty) s = (s + 1) & mask_;
  slots_[s] = key << kNumberBits | number;
}

void MessageTable::grow() {
  const std::size_t larger = slots_.size() * 2;
  const std::vector<std::uint64_t> old = std::exchange(slots_, std::vector<std::uint64_t>(larger, kEmpty));
  mask_ = larger - 1;
  for (const std::uint64_t slot : old)
    if (slot != kEmpty) put(slot >> kNumberBits, static_cast<std::uint32_t>(slot & kNumberMask));
}

std::uint32_t MessageTable::add(const can::Frame& frame) {
  if (2 * size_ >= slots_.size()) grow();
  const auto number = static_cast<std::uint32_t>(size_++);
  put(key_of(frame), number);
  return number;
}

}  // namespace halfsplit::capture
