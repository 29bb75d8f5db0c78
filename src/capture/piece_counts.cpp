// SPDX-License-Identifier: Apache-2.0
#include "capture/piece_counts.h"

#include <algorithm>
#include <utility>

#include "capture/frame_room.h"

namespace halfsplit::capture {

namespace {

constexpr std::size_t kMostEvents = 3;    // of one frame
constexpr std::size_t kLeastRoom = 3072;  // frames; somewhat more than usual pieces have, as room that grows is copied
constexpr std::size_t kMostKnown = MessageTable::kMost - PieceCounts::kMostFrames;

}  // namespace

void PieceCounts::begin(std::int64_t slot_width_us) {
  if (messages.size() > kMostKnown) forget();
  slot_us = slot_width_us;
  begin_anew();
}

void PieceCounts::begin_anew() {
  ++piece_;
  frames = 0;
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

// Some frames at a time, so that what one loop looked at is still near for the next one.
void PieceCounts::count(std::span<const can::Frame> all, SteadyClock& clock) {
  make_room(frames + all.size());
  for (std::size_t done = 0; done < all.size(); done += kNearFrames) {
    const std::span<const can::Frame> some = all.subspan(done, std::min(kNearFrames, all.size() - done));
    note_times(some, frames, clock);
    count_bits(some, frames);
    look_up(some, frames);
    count_messages(some, frames);
    frames += static_cast<std::uint32_t>(some.size());
  }
  if (!all.empty()) last_recorded_us = all.back().time_us;
}

void PieceCounts::end() {
  end_channel_slot();
  end_sender_slot();
}

void PieceCounts::count_again(std::span<const can::Frame> all) {
  for (const std::uint32_t m : messages_seen)
    if (messages[m].longer) messages[m].longest_us = -1;
  begin_anew();
  make_room(all.size());
  count_bits(all, 0);
  count_messages(all, 0);
  frames = static_cast<std::uint32_t>(all.size());
  end();
}

void PieceCounts::make_room(std::size_t count) {
  const std::size_t events = event_count_ + kMostEvents * (count - frames);
  if (events_.size() < events) events_.resize(std::max(events, 2 * events_.size()));
  if (marks.size() >= count) return;
  const std::size_t room = std::max({count, 2 * marks.size(), kLeastRoom});
  marks.resize(room);
  message_of.resize(room);
  next.resize(room);
}

void PieceCounts::note_times(std::span<const can::Frame> some, std::uint32_t from, SteadyClock& clock) {
  SteadyClock near = std::move(clock);  // nothing else that is written can be part of it
  Mark* into = marks.data() + from;
  for (const can::Frame& frame : some) *into++ = near.mark(frame);
  clock = std::move(near);
}

void PieceCounts::count_bits(std::span<const can::Frame> some, std::uint32_t from) {
  const Mark* const times = marks.data() + from;
  for (std::size_t i = 0; i < some.size();) {
    const std::uint8_t channel = some[i].channel;
    ChannelCounts& counts = begin_channel(channel);
    BitsUpTo bits = counts.count == 0 ? BitsUpTo{} : counts.room[counts.count - 1];
    BitsUpTo* into = counts.room.data() + counts.count;
    for (; i < some.size() && some[i].channel == channel; ++i) {
      const can::Frame& frame = some[i];
      if (times[i].at_us >= channel_slot_.end_us) [[unlikely]] {
        counts.count = static_cast<std::size_t>(into - counts.room.data());
        end_channel_slot();
        channel_slot_ = slot_at(times[i].at_us);
      }
      FrameBits one;
      if (is_classic(frame)) [[likely]] {
        one = classic_bits(frame);
      } else {
        if (frame.kind == can::FrameKind::kError) continue;
        remote += frame.kind == can::FrameKind::kRemote ? 1U : 0U;
        flexible += frame.kind == can::FrameKind::kData && frame.flexible ? 1U : 0U;
        one = frame_bits(frame);
      }
      bits = {from + static_cast<std::uint32_t>(i), bits.least + one.least, bits.most + one.most};
      *into++ = bits;
    }
    counts.count = static_cast<std::size_t>(into - counts.room.data());
  }
}

void PieceCounts::look_up(std::span<const can::Frame> some, std::uint32_t from) {
  std::uint32_t* into = message_of.data() + from;
  for (const can::Frame& frame : some)
    *into++ = frame.kind == can::FrameKind::kData ? table_.find(frame) : kWithoutData;
}

void PieceCounts::count_messages(std::span<const can::Frame> some, std::uint32_t from) {
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
  const std::uint32_t to = from + static_cast<std::uint32_t>(some.size());
  for (std::uint32_t i = from; i < to; ++i) {
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
        if (some[i - from].kind == can::FrameKind::kError) *event++ = {Kind::kError, i, 0, keep(some[i - from])};
        continue;
      }
      places[i] = place = find_or_add(some[i - from]);
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
      *event++ = {Kind::kContent, i, place, keep(some[i - from])};
    }
  }
  event_count_ = static_cast<std::size_t>(event - events_.data());
}

std::uint32_t PieceCounts::keep(const can::Frame& frame) {
  contents.push_back(frame);
  return static_cast<std::uint32_t>(contents.size() - 1);
}

ChannelCounts& PieceCounts::begin_channel(std::uint8_t channel) {
  if (channel >= channels.size()) channels.resize(channel + std::size_t{1});
  ChannelCounts& counts = channels[channel];
  if (counts.room.size() < marks.size()) counts.room.resize(marks.size());
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
  message.extended = frame.extended;
  message.channel = frame.channel;
  message.id = frame.id;
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
