// SPDX-License-Identifier: Apache-2.0
// Finds a message's record by channel and identifier, once a frame: open addressing, a multiplication for a hash,
// records in one vector. Bounded: what comes after kMostMessages different identifiers is counted only.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "can/frame.h"
#include "capture/findings.h"
#include "capture/rhythm.h"

namespace halfsplit::capture {

constexpr std::size_t kMostMessages = 16384;
constexpr std::size_t kMostSenders = 2048;

// What the study does with the content.
enum class Role : std::uint8_t { kPlain, kClaim, kRequest, kAcknowledgement, kTransport, kCodes, kVolts, kDiagnostic };

struct MessageRecord {
  explicit MessageRecord(RhythmSample sample) : intervals(std::move(sample)) {}
  std::int64_t last_us = 0;
  std::uint64_t last_line = 0;
  std::uint64_t frames = 0;
  std::int64_t longest_us = -1;
  std::uint32_t sender = 0;
  std::uint32_t pgn = 0;
  Role role = Role::kPlain;
  std::uint8_t destination = 255;
  bool extended = false;
  std::uint8_t channel = 0;
  std::uint32_t id = 0;
  RhythmSample intervals;
  std::uint64_t answers = 0;
  Mark first;
  Gap longest;
};

class MessageTable {
 public:
  MessageTable() : slots_(kFirstSlots) {}
  // None: not there yet.
  [[nodiscard]] MessageRecord* find(const can::Frame& frame) {
    const std::uint64_t key = key_of(frame);
    for (std::size_t s = place(key);; s = (s + 1) & (slots_.size() - 1)) {
      if (slots_[s].key == key) return &records_[slots_[s].record];
      if (slots_[s].key == kEmpty) return nullptr;
    }
  }
  // None: no room.
  [[nodiscard]] MessageRecord* add(const can::Frame& frame);
  [[nodiscard]] const std::vector<MessageRecord>& records() const { return records_; }

 private:
  struct Slot {
    std::uint64_t key = kEmpty;
    std::uint32_t record = 0;
  };
  static constexpr std::uint64_t kEmpty = ~std::uint64_t{0};
  static constexpr std::size_t kFirstSlots = 1024;  // a power of two

  // A 29-bit identifier without its priority: the same message may be sent with another one.
  static std::uint64_t key_of(const can::Frame& frame) {
    const std::uint32_t id = frame.extended ? (frame.id & 0x03FFFFFFU) | 0x80000000U : frame.id;
    return (std::uint64_t{frame.channel} << 32U) | id;
  }
  [[nodiscard]] std::size_t place(std::uint64_t key) const {
    return static_cast<std::size_t>((key * 0x9E3779B97F4A7C15ULL) >> 40U) & (slots_.size() - 1);
  }
  void put(std::uint64_t key, std::uint32_t record);
  void grow();

  std::vector<Slot> slots_;
  std::vector<MessageRecord> records_;
};

}  // namespace halfsplit::capture
