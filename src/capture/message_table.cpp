// SPDX-License-Identifier: Apache-2.0
#include "capture/message_table.h"

#include <utility>

namespace halfsplit::capture {

void MessageTable::put(std::uint64_t key, std::uint32_t record) {
  std::size_t s = place(key);
  while (slots_[s].key != kEmpty) s = (s + 1) & (slots_.size() - 1);
  slots_[s] = {key, record};
}

void MessageTable::grow() {
  const std::vector<Slot> old = std::exchange(slots_, std::vector<Slot>(slots_.size() * 2));
  for (const Slot& slot : old)
    if (slot.key != kEmpty) put(slot.key, slot.record);
}

MessageRecord* MessageTable::add(const can::Frame& frame) {
  if (records_.size() == kMostMessages) return nullptr;
  if (2 * records_.size() >= slots_.size()) grow();
  const std::uint64_t key = key_of(frame);
  put(key, static_cast<std::uint32_t>(records_.size()));
  MessageRecord& record = records_.emplace_back(RhythmSample(key));
  record.extended = frame.extended;
  record.channel = frame.channel;
  record.id = frame.id;
  return &records_.back();
}

}  // namespace halfsplit::capture
