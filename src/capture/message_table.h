// SPDX-License-Identifier: Apache-2.0
// Finds a message's number by channel and identifier, once a frame: open addressing, a multiplication for a hash.
// Numbers count from 0 in the order of adding. And what is kept of a message while a recording passes by.
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
[[nodiscard]] Role role_of(const can::Frame& frame);
[[nodiscard]] SenderKey key_of_sender(const can::Frame& frame);

struct MessageRecord {
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
  static constexpr std::size_t kMost = 65'535;

  MessageTable() : slots_(kFirstSlots, kEmpty) {}
  // kNone: not there yet.
  [[nodiscard]] std::uint32_t find(const can::Frame& frame) const {
    const std::uint64_t key = key_of(frame);
    for (std::size_t s = place(key);; s = (s + 1) & mask_) {
      const std::uint64_t slot = slots_[s];
      if (slot >> kNumberBits == key) return static_cast<std::uint32_t>(slot & kNumberMask);
      if (slot == kEmpty) return kNone;
    }
  }
  // The next number, for one that is not there yet; at most kMost.
  std::uint32_t add(const can::Frame& frame);
  [[nodiscard]] std::size_t size() const { return size_; }

 private:
  static constexpr std::uint32_t kNumberBits = 16;
  static constexpr std::uint64_t kNumberMask = (std::uint64_t{1} << kNumberBits) - 1;
  static_assert(kMost <= kNumberMask);
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
  void put(std::uint64_t key, std::uint32_t number);
  void grow();

  std::vector<std::uint64_t> slots_;  // key, then number; all ones: empty
  std::size_t mask_ = kFirstSlots - 1;
  std::size_t size_ = 0;
};

}  // namespace halfsplit::capture
