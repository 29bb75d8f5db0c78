// SPDX-License-Identifier: Apache-2.0
#include "capture/piece_counts.h"

#include <algorithm>
#include <utility>

namespace halfsplit::capture {

namespace {

constexpr std::size_t kNear = 256;
constexpr std::uint32_t kWithoutData = MessageTable::kNone - 1;
constexpr std::size_t kMostEvents = 3;  // of one frame
constexpr std::size_t kMostKnown = MessageTable::kMost - PieceCounts::kMostFrames;

}  // namespace

// Some frames at a time, so that what one loop looked at is still near for the next one.
void PieceCounts::count(std::span<const can::Frame> frames, SteadyClock& clock, std::int64_t slot_width_us) {
  if (messages.size() > kMostKnown) forget();
  slot_us = slot_width_us;
  if (marks.size() < frames.size()) {
    marks.resize(frames.size());
    message_of.resize(frames.size());
    next.resize(frames.size());
    events_.resize(kMostEvents * frames.size());
  }
  begin();
  for (std::size_t from = 0; from < frames.size(); from += kNear) {
    const std::size_t to = std::min(from + kNear, frames.size());
    note_times(frames, from, to, clock);
    count_bits(frames, from, to);
    look_up(frames, from, to);
    count_messages(frames, from, to);
  }
  end_channel_slot();
  end_sender_slot();
}

void PieceCounts::count_again(std::span<const can::Frame> frames) {
  for (const std::uint32_t m : messages_seen)
    if (messages[m].longer) messages[m].longest_us = -1;
  begin();
  count_bits(frames, 0, frames.size());
  count_messages(frames, 0, frames.size());
  end_channel_slot();
  end_sender_slot();
}

void PieceCounts::begin() {
  ++piece_;
  messages_seen.clear();
  senders_seen.clear();
  event_count_ = 0;
  contents.clear();
  sender_slots.clear();
  channel_slots.clear();
  for (const std::uint8_t c : channels_seen) channels[c] = {std::move(channels[c].room)};
  channels_seen.clear();
  channel_slot_ = sender_slot_ = {};
  flexible = remote = 0;
}

void PieceCounts::note_times(std::span<const can::Frame> frames, std::size_t from, std::size_t to, SteadyClock& clock) {
  SteadyClock near = std::move(clock);  // nothing else that is written can be part of it
  for (std::size_t i = from; i < to; ++i) marks[i] = near.mark(frames[i]);
  clock = std::move(near);
}

void PieceCounts::count_bits(std::span<const can::Frame> frames, std::size_t from, std::size_t to) {
  for (std::size_t i = from; i < to;) {
    const std::uint8_t channel = frames[i].channel;
    ChannelCounts& counts = begin_channel(channel, frames.size());
    BitsUpTo bits = counts.count == 0 ? BitsUpTo{} : counts.room[counts.count - 1];
    BitsUpTo* into = counts.room.data() + counts.count;
    for (; i < to && frames[i].channel == channel; ++i) {
      const can::Frame& frame = frames[i];
      if (marks[i].at_us >= channel_slot_.end_us) [[unlikely]] {
        counts.count = static_cast<std::size_t>(into - counts.room.data());
        end_channel_slot();
        channel_slot_ = slot_at(marks[i].at_us);
      }
      FrameBits some;
      if (is_classic(frame)) [[likely]] {
        some = classic_bits(frame);
      } else {
        if (frame.kind == can::FrameKind::kError) continue;
        remote += frame.kind == can::FrameKind::kRemote ? 1U : 0U;
        flexible += frame.kind == can::FrameKind::kData && frame.flexible ? 1U : 0U;
        some = frame_bits(frame);
      }
      bits = {static_cast<std::uint32_t>(i), bits.least + some.least, bits.most + some.most};
      *into++ = bits;
    }
    counts.count = static_cast<std::size_t>(into - counts.room.data());
  }
}

void PieceCounts::look_up(std::span<const can::Frame> frames, std::size_t from, std::size_t to) {
  for (std::size_t i = from; i < to; ++i)
    message_of[i] = frames[i].kind == can::FrameKind::kData ? table_.find(frames[i]) : kWithoutData;
}

void PieceCounts::count_messages(std::span<const can::Frame> frames, std::size_t from, std::size_t to) {
  using Kind = PieceEvent::Kind;
  const Mark* const times = marks.data();
  std::uint32_t* const places = message_of.data();
  std::uint32_t* const next_of = next.data();
  PieceEvent* event = events_.data() + event_count_;
  std::int64_t before_us = times[from > 0 ? from - 1 : 0].at_us;
  const std::int64_t common_us = common_longest_us;
  const std::uint32_t piece = piece_;
  MessageCounts* known = messages.data();
  SenderCounts* their = senders.data();
  for (auto i = static_cast<std::uint32_t>(from); i < to; ++i) {
    const std::int64_t at = times[i].at_us;
    if (at >= sender_slot_.end_us) [[unlikely]] {
      end_sender_slot();
      sender_slot_ = slot_at(at);
    }
    std::uint32_t place = places[i];
    const bool gap = at - before_us > common_us;
    before_us = at;
    if (place >= kWithoutData) [[unlikely]] {
      if (place == kWithoutData) {
        *event++ = {Kind::kWithoutData, i, 0, 0};
        continue;
      }
      places[i] = place = find_or_add(frames[i]);
      known = messages.data();
      their = senders.data();
    }
    if (gap) [[unlikely]]
      *event++ = {Kind::kCommonGap, i, 0, i - 1};
    MessageCounts& message = known[place];
    if (message.piece == piece) [[likely]] {
      next_of[message.last] = i;
      const std::int64_t interval = at - message.last_us;
      if (interval > message.longest_us) [[unlikely]] {
        message.longest_us = interval;
        message.longest_from = message.last;
        message.longest_to = i;
        message.longer = true;
      }
    } else {
      message.piece = piece;
      message.frames = 0;
      message.first = i;
      message.longer = false;
      messages_seen.push_back(place);
    }
    ++message.frames;
    message.last = i;
    message.last_us = at;
    if (message.ignored) [[unlikely]]
      continue;
    SenderCounts& sender = their[message.sender];
    if (sender.piece != piece) [[unlikely]] {
      sender.piece = piece;
      senders_seen.push_back(message.sender);
      *event++ = {Kind::kSenderFirst, i, message.sender, 0};
    } else if (at - sender.last_us > sender.longest_us) [[unlikely]] {
      *event++ = {Kind::kSenderGap, i, message.sender, sender.last};
    }
    sender.last = i;
    sender.last_us = at;
    ++sender.in_slot;
    if (message.role != Role::kPlain) [[unlikely]] {
      *event++ = {Kind::kContent, i, place, static_cast<std::uint32_t>(contents.size())};
      contents.push_back(frames[i]);
    }
  }
  event_count_ = static_cast<std::size_t>(event - events_.data());
}

ChannelCounts& PieceCounts::begin_channel(std::uint8_t channel, std::size_t frames) {
  if (channel >= channels.size()) channels.resize(channel + std::size_t{1});
  ChannelCounts& counts = channels[channel];
  if (counts.room.size() < frames) counts.room.resize(frames);
  if (!counts.seen) channels_seen.push_back(channel);
  counts.seen = true;
  return counts;
}

PieceCounts::Slot PieceCounts::slot_at(std::int64_t at) const {
  const std::int64_t number = at / slot_us;
  return {number, (number + 1) * slot_us};
}

void PieceCounts::end_sender_slot() {
  for (const std::uint32_t s : senders_seen) {
    if (senders[s].in_slot == 0) continue;
    sender_slots.push_back({s, senders[s].in_slot, sender_slot_.number});
    senders[s].in_slot = 0;
  }
}

void PieceCounts::end_channel_slot() {
  for (const std::uint8_t c : channels_seen) {
    const std::uint32_t most = channels[c].count == 0 ? 0 : channels[c].room[channels[c].count - 1].most;
    if (most == channels[c].told) continue;
    channel_slots.push_back({c, most - channels[c].told, channel_slot_.number});
    channels[c].told = most;
  }
}

std::uint32_t PieceCounts::find_or_add(const can::Frame& frame) {
  std::uint32_t place = table_.find(frame);  // it may have been added since several were looked up
  if (place != MessageTable::kNone) return place;
  place = table_.add(frame);
  MessageCounts& message = messages.emplace_back();
  message.role = role_of(frame);
  message.sender = sender_of(key_of_sender(frame));
  return place;
}

std::uint32_t PieceCounts::sender_of(const SenderKey& key) {
  const auto found = std::find_if(senders.begin(), senders.end(), [&](const SenderCounts& s) { return s.key == key; });
  const auto place = static_cast<std::uint32_t>(found - senders.begin());
  if (found == senders.end()) senders.emplace_back().key = key;
  return place;
}

}  // namespace halfsplit::capture
