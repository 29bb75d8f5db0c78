// SPDX-License-Identifier: Apache-2.0
// A chunk of whole lines read on its own, by any hand: lines, times and interfaces are counted from the chunk's own
// beginning. settle() then gives it its place behind the chunks ahead, in their order.
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "capture/candump_line.h"
#include "capture/frame_source.h"

namespace halfsplit::capture {

enum class TimeStyle : std::uint8_t { kNone, kSince1970, kFromFirst, kFromFrameToFrame };

struct CandumpChunk {
  std::string_view text;
  std::vector<can::Frame> frames;  // room, of which `count` are filled
  std::size_t count = 0;
  std::uint64_t lines = 0, skipped = 0, damaged = 0, backwards = 0, lost = 0;
  std::size_t untimed_ahead = 0;  // frames before the first time, where the log has times
  bool timed = false;
  std::int64_t first_time_us = 0, last_time_us = 0;
  std::vector<std::string_view> channels;  // in the order they appear
  std::vector<Damage> first_damage;
  bool log_form = false;   // of the first frame
  bool truncated = false;  // its last line was cut off
};

// Reads chunk.text, all of it; everything else in the chunk is made anew. `cut`: the last line has no end in the file.
void read_candump_chunk(CandumpChunk& chunk, TimeStyle style, bool cut);

// Which times the first lines of a log have.
[[nodiscard]] TimeStyle find_time_style(std::string_view text);

// Puts chunks behind each other: frames get their line, time and interface in the whole, `recording` is brought up to
// date.
class CandumpOrder {
 public:
  void settle(CandumpChunk& chunk, TimeStyle style, Recording& recording);

 private:
  void map_channels(CandumpChunk& chunk, Recording& recording);
  void place_times(CandumpChunk& chunk, TimeStyle style, Recording& recording);

  bool timed_ = false;
  std::int64_t last_time_us_ = 0;
  std::array<std::uint8_t, 256> channel_{};  // of the chunk's number
};

}  // namespace halfsplit::capture
