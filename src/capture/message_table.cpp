// SPDX-License-Identifier: Apache-2.0
#include "capture/message_table.h"

#include <utility>

namespace halfsplit::capture {

void MessageTable::put(std::uint64_t key, std::uint32_t record) {
  std::size_t s = place(key);
  while (slots_[s] != kEmpty) s = (s + 1) & mask_;
  slots_[s] = key << kRecordBits | record;
}

void MessageTable::grow() {
  const std::size_t larger = slots_.size() * 2;
  const std::vector<std::uint64_t> old = std::exchange(slots_, std::vector<std::uint64_t>(larger, kEmpty));
  mask_ = larger - 1;
  for (const std::uint64_t slot : old)
    if (slot != kEmpty) put(slot >> kRecordBits, static_cast<std::uint32_t>(slot & kRecordMask));
}

std::uint32_t MessageTable::add(const can::Frame& frame) {
  if (records_.size() == kMostMessages) return kNone;
  if (2 * records_.size() >= slots_.size()) grow();
  const std::uint64_t key = key_of(frame);
  const auto index = static_cast<std::uint32_t>(records_.size());
  put(key, index);
  MessageRecord& record = records_.emplace_back();
  record.extended = frame.extended;
  record.channel = frame.channel;
  record.id = frame.id;
  return index;
}

}  // namespace halfsplit::capture
