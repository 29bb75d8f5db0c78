// SPDX-License-Identifier: Apache-2.0
// A chunk of whole lines read on its own, by any hand: lines, times and interfaces are counted from the chunk's own
// beginning. CandumpOrder then gives it its place behind the chunks ahead, in their order.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "capture/candump_line.h"
#include "capture/frame_room.h"
#include "capture/frame_source.h"
#include "capture/usual_line.h"

namespace halfsplit::capture {

enum class TimeStyle : std::uint8_t { kNone, kSince1970, kFromFirst, kFromFrameToFrame };

// What was found in the text of a chunk, its frames aside.
struct CandumpCounts {
  std::size_t count = 0;  // frames
  std::uint64_t lines = 0, skipped = 0, damaged = 0, backwards = 0, lost = 0;
  std::size_t untimed_ahead = 0;  // frames before the first time, where the log has times
  bool timed = false;
  std::int64_t first_time_us = 0, last_time_us = 0;
  std::vector<std::string_view> channels;  // in the order they appear
  std::vector<Damage> first_damage;
  bool log_form = false;   // of the first frame
  bool truncated = false;  // its last line was cut off
};

struct CandumpChunk : CandumpCounts {
  std::string_view text;
  std::vector<can::Frame> frames;  // room, of which `count` are filled
  std::vector<std::string> known;  // channels of the pieces ahead; their numbers come first
  UsualLine usual;                 // what it learned stays from one text to the next
};

// Reads chunk.text, all of it; frames and counts are made anew, the same ones however often it is read. `cut`: the last
// line has no end in the file.
void read_candump_chunk(CandumpChunk& chunk, TimeStyle style, bool cut);
// The same without keeping frames: `look` gets them, some at a time. False: they are kept in the chunk, as settling
// would have altered them.
[[nodiscard]] bool look_at_candump_chunk(CandumpChunk& chunk, TimeStyle style, bool cut, const FrameLook& look);

// Which times the first lines of a log have.
[[nodiscard]] TimeStyle find_time_style(std::string_view text);

// Puts chunks behind each other: `begin` brings `recording` up to date, then `settle` gives the frames of that chunk,
// some at a time and in order, their line, time and interface in the whole. `let_go` makes it ready for another text;
// until then it may be read again.
class CandumpOrder {
 public:
  void begin(CandumpChunk& chunk, TimeStyle style, Recording& recording);
  void settle(std::span<can::Frame> frames);
  static void let_go(CandumpChunk& chunk, const Recording& recording);
  // What settling adds to the lines, if it alters nothing else.
  [[nodiscard]] std::optional<std::uint64_t> only_lines() const {
    if (shift_us_ != 0 || untimed_left_ > 0 || !same_channels_) return std::nullopt;
    return lines_ahead_;
  }

 private:
  void map_channels(const CandumpChunk& chunk, Recording& recording);
  void place_times(const CandumpChunk& chunk, TimeStyle style, Recording& recording);

  bool timed_ = false;
  std::int64_t last_time_us_ = 0;
  // Of the chunk under way:
  std::uint64_t lines_ahead_ = 0;
  std::int64_t shift_us_ = 0, untimed_us_ = 0;  // added to its times; to those of its first frames, which have none
  std::size_t untimed_left_ = 0;
  bool same_channels_ = true;
  std::array<std::uint8_t, 256> channel_{};  // of the chunk's number
};

}  // namespace halfsplit::capture
