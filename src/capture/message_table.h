// SPDX-License-Identifier: Apache-2.0
// Finds a message's record by channel and identifier, once a frame: open addressing, a multiplication for a hash,
// records in one vector. Bounded: what comes after kMostMessages different identifiers is counted only.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "can/frame.h"
#include "capture/findings.h"
#include "capture/rhythm.h"

namespace halfsplit::capture {

constexpr std::size_t kMostMessages = 16384;
constexpr std::size_t kMostSenders = 2048;

// What the study does with the content.
enum class Role : std::uint8_t { kPlain, kClaim, kRequest, kAcknowledgement, kTransport, kCodes, kVolts, kDiagnostic };

// What every frame touches stands in its first 64 bytes, one line of the cache.
struct alignas(64) MessageRecord {
  std::int64_t last_us = 0;
  std::uint64_t last_line = 0;
  std::uint64_t frames = 0;
  std::int64_t longest_us = -1;
  std::uint64_t wanted_interval = 1;  // the number of the next one that `intervals` keeps, counted from 1
  std::uint32_t sender = 0;
  std::uint32_t pgn = 0;
  Role role = Role::kPlain;
  std::uint8_t destination = 255;
  bool extended = false;
  std::uint8_t channel = 0;
  std::uint32_t id = 0;
  std::uint64_t answers = 0;
  RhythmSample intervals;
  Mark first;
  Gap longest;
};

class MessageTable {
 public:
  static constexpr std::uint32_t kNone = ~std::uint32_t{0};

  MessageTable() : slots_(kFirstSlots, kEmpty) {}
  // Index of the record; kNone: not there yet.
  [[nodiscard]] std::uint32_t find(const can::Frame& frame) const {
    const std::uint64_t key = key_of(frame);
    for (std::size_t s = place(key);; s = (s + 1) & mask_) {
      const std::uint64_t slot = slots_[s];
      if (slot >> kRecordBits == key) return static_cast<std::uint32_t>(slot & kRecordMask);
      if (slot == kEmpty) return kNone;
    }
  }
  // Of all of them, so that the looking up of one need not wait for what is done with another.
  void find(std::span<const can::Frame> frames, std::span<std::uint32_t> records) const {
    for (std::size_t i = 0; i < frames.size(); ++i) {
      records[i] = find(frames[i]);
      if (records[i] != kNone) __builtin_prefetch(&records_[records[i]]);
    }
  }
  // kNone: no room.
  [[nodiscard]] std::uint32_t add(const can::Frame& frame);
  [[nodiscard]] MessageRecord& record(std::uint32_t index) { return records_[index]; }
  [[nodiscard]] const std::vector<MessageRecord>& records() const { return records_; }

 private:
  static constexpr std::uint32_t kRecordBits = 16;
  static constexpr std::uint64_t kRecordMask = (std::uint64_t{1} << kRecordBits) - 1;
  static_assert(kMostMessages <= kRecordMask);
  static constexpr std::uint64_t kEmpty = ~std::uint64_t{0};
  static constexpr std::size_t kFirstSlots = 1024;  // a power of two

  // 40 bits. A 29-bit identifier without its priority: the same message may be sent with another one.
  static std::uint64_t key_of(const can::Frame& frame) {
    const std::uint32_t id = frame.extended ? (frame.id & 0x03FFFFFFU) | 0x80000000U : frame.id;
    return (std::uint64_t{frame.channel} << 32U) | id;
  }
  [[nodiscard]] std::size_t place(std::uint64_t key) const {
    return static_cast<std::size_t>((key * 0x9E3779B97F4A7C15ULL) >> 40U) & mask_;
  }
  void put(std::uint64_t key, std::uint32_t record);
  void grow();

  std::vector<std::uint64_t> slots_;  // key, then index of its record; all ones: empty
  std::size_t mask_ = kFirstSlots - 1;
  std::vector<MessageRecord> records_;
};

}  // namespace halfsplit::capture
