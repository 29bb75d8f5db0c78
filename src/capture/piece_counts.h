// SPDX-License-Identifier: Apache-2.0
// What is counted of a piece of a recording by whichever hand read it, before its place behind the pieces ahead is
// known: for each message and sender its frames and what is worth telling of them, and what has to be looked at in
// order. Study then puts pieces behind each other. Frames are told by their number in the piece.
//
// From one piece to the next the tables stay, with what Study told of the pieces before: numbers of its records, and
// how long an interval or a gap has to be to matter. Both are bounds that only grow, so it does not matter for the
// findings how old they are. For one thread at a time.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "can/frame.h"
#include "capture/bus_load.h"
#include "capture/findings.h"
#include "capture/message_table.h"
#include "capture/slots.h"
#include "capture/steady_clock.h"

namespace halfsplit::capture {

// What every frame touches stands in one line of the cache.
struct alignas(64) MessageCounts {
  std::int64_t last_us = 0;
  std::int64_t longest_us = -1;  // what is no longer does not matter
  std::uint32_t piece = 0;       // the last one it was in; what follows is of that piece
  std::uint32_t frames = 0;
  std::uint32_t first = 0, last = 0;
  std::uint32_t longest_from = 0, longest_to = 0;
  bool longer = false;   // than longest_us was
  bool ignored = false;  // the study has no room for it
  Role role = Role::kPlain;
  bool extended = false;  // this and what follows of the first frame there was
  std::uint8_t channel = 0;
  std::uint32_t id = 0;
  std::uint32_t sender = 0;                    // place in the senders here
  std::uint32_t record = MessageTable::kNone;  // of the study
};

struct SenderCounts {
  std::int64_t last_us = 0;
  std::int64_t longest_us = 0;  // a gap that is no longer does not matter
  std::uint32_t piece = 0, last = 0;
  std::uint32_t in_slot = 0;
  std::uint32_t record = 0;  // of the study
  SenderKey key;
};

// What has to be looked at in the order of the frames.
struct PieceEvent {
  enum class Kind : std::uint8_t {
    kCommonGap,    // nobody sent since the frame before it
    kError,        // an error frame
    kSenderFirst,  // the first one of a sender in the piece
    kSenderGap,    // nothing from its sender since `before`
    kContent       // of a message whose role is not plain
  };
  Kind kind = Kind::kContent;
  std::uint32_t frame = 0;
  std::uint32_t which = 0;   // place of its sender or message
  std::uint32_t before = 0;  // of kContent and kError the place in the contents
};

struct ChannelCounts {
  std::vector<BitsUpTo> room;  // of which `count` are filled
  std::size_t count = 0;
  std::uint32_t told = 0;  // bits, in slots that ended
  bool seen = false;
  [[nodiscard]] std::span<const BitsUpTo> bits() const { return std::span(room).first(count); }
};

struct SenderSlot {
  std::uint32_t sender = 0, frames = 0;
  std::int64_t slot = 0;
};
struct ChannelSlot {
  std::uint8_t channel = 0;
  std::uint32_t bits = 0;
  std::int64_t slot = 0;
};

class PieceCounts {
 public:
  static constexpr std::size_t kMostFrames = 16'384;  // of a piece

  // A piece in slots of this width, its frames some at a time by this clock, kMostFrames in all, and its end.
  void begin(std::int64_t slot_us);
  void count(std::span<const can::Frame> frames, SteadyClock& clock);
  void end();
  // The piece just counted once more, now that some messages are ignored: all of its frames.
  void count_again(std::span<const can::Frame> frames);
  // As new: nothing is known of pieces before.
  void forget() { *this = {}; }

  static constexpr std::uint32_t kWithoutData = MessageTable::kNone - 1;
  std::uint32_t frames = 0;
  std::int64_t last_recorded_us = 0;         // of the last frame, as recorded
  std::vector<Mark> marks;                   // of each frame
  std::vector<std::uint32_t> message_of;     // of each frame; kWithoutData: it has none
  std::vector<std::uint32_t> next;           // the next frame of its message
  std::vector<MessageCounts> messages;       // of this piece and others
  std::vector<SenderCounts> senders;         // of this piece and others
  std::vector<std::uint32_t> messages_seen;  // in this piece, in the order of their first frames
  std::vector<std::uint32_t> senders_seen;
  std::vector<can::Frame> contents;     // of events, near each other
  std::vector<ChannelCounts> channels;  // by number
  std::vector<std::uint8_t> channels_seen;
  std::vector<SenderSlot> sender_slots;
  std::vector<ChannelSlot> channel_slots;
  std::uint64_t flexible = 0, remote = 0;
  std::int64_t slot_us = kFirstSlotUs;
  std::int64_t common_longest_us = 0;  // a gap of all that is no longer does not matter
  [[nodiscard]] std::span<const PieceEvent> events() const { return std::span(events_).first(event_count_); }

 private:
  struct Slot {
    std::int64_t number = 0, end_us = 0;
  };

  void begin_anew();
  // These frames are those of the piece from number `from` on.
  void note_times(std::span<const can::Frame> some, std::uint32_t from, SteadyClock& clock);
  void count_bits(std::span<const can::Frame> some, std::uint32_t from);
  void look_up(std::span<const can::Frame> some, std::uint32_t from);
  void count_messages(std::span<const can::Frame> some, std::uint32_t from);
  std::uint32_t find_or_add(const can::Frame& frame);
  std::uint32_t keep(const can::Frame& frame);
  std::uint32_t sender_of(const SenderKey& key);
  void make_room(std::size_t frames);
  ChannelCounts& begin_channel(std::uint8_t channel);
  [[nodiscard]] Slot slot_at(std::int64_t at) const;
  void end_sender_slot();
  void end_channel_slot();

  MessageTable table_;
  std::uint32_t piece_ = 0;
  std::vector<PieceEvent> events_;  // room, of which `event_count_` are filled
  std::size_t event_count_ = 0;
  Slot sender_slot_, channel_slot_;  // under way
};

}  // namespace halfsplit::capture
