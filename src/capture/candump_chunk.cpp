// SPDX-License-Identifier: Apache-2.0
#include "capture/candump_chunk.h"

#include <algorithm>

#include "text/utf8.h"

namespace halfsplit::capture {

namespace {

constexpr std::size_t kMostChannels = 255;
constexpr std::int64_t kEarliest1970Us = 100'000'000'000'000;  // 1973: a smaller number of seconds is no date
constexpr std::size_t kMostSample = 4096;                      // frames looked at for the style of times
constexpr std::int64_t kLatestUs = 253'402'300'799'000'000;    // 9999-12-31: sums of steps end there
constexpr std::int64_t kShortestFrameUs = 44;                  // a frame without data, 44 bits at 1 Mbit/s

class ChunkReader {
 public:
  ChunkReader(CandumpChunk& chunk, TimeStyle style, FrameRoom room) : chunk_(chunk), style_(style), room_(room) {}

  void read(bool cut) {
    const char* end = chunk_.text.data() + chunk_.text.size();
    for (const char* at = chunk_.text.data(); at < end;) {
      if (room_.left() == 0) room_.make();
      at = read_usual(at, end);
      if (at == end) break;
      if (room_.left() == 0) continue;
      can::Frame& frame = *room_.next();
      const char* next = read_candump_line(at, end, frame, line_);
      frame.line = ++chunk_.lines;
      if (cut && next == end) judge_cut_line(frame, at);
      take(frame, at, next);
      at = next;
    }
    room_.finish();
  }

 private:
  // As many usual lines as there are; the first line with a time never is one, nor the last of the chunk.
  const char* read_usual(const char* at, const char* end) {
    if (!wide_ || !chunk_.usual.expects()) return at;
    std::uint64_t backwards = 0;
    std::int64_t last_us = chunk_.last_time_us;
    can::Frame* const first = room_.next();
    can::Frame* frame = first;
    const can::Frame* const room_end = first + room_.left();
    std::uint64_t line = chunk_.lines;
    for (; frame < room_end && end - at >= UsualLine::kLongest; ++frame) {
      const char* next = chunk_.usual.read(at, *frame);
      if (next == nullptr) break;
      at = next;
      frame->line = ++line;
      backwards += frame->time_us < last_us ? 1 : 0;
      last_us = frame->time_us;
    }
    const auto count = static_cast<std::size_t>(frame - first);
    room_.filled(count);
    chunk_.count += count;
    chunk_.lines = line;
    chunk_.backwards += backwards;
    chunk_.last_time_us = last_us;
    return at;
  }

  // The last line of a file that does not end with one: a frame whose bytes may be missing is none.
  void judge_cut_line(const can::Frame& frame, const char* at) {
    if (line_.kind == LineKind::kNothing || line_.kind == LineKind::kLoss) return;
    const bool whole = line_.kind == LineKind::kFrame && (!line_.log_form || frame.length == (frame.flexible ? 64 : 8));
    if (whole) return;
    line_.kind = LineKind::kDamaged;
    line_.flaw = Flaw::kCut;
    line_.at = at;
    chunk_.truncated = true;
  }

  void take(can::Frame& frame, const char* at, const char* next) {
    switch (line_.kind) {
      case LineKind::kNothing:
        ++chunk_.skipped;
        return;
      case LineKind::kDamaged:
        return damage(line_.flaw, at, line_.at, next);
      case LineKind::kLoss:
        ++chunk_.skipped;
        chunk_.lost += line_.lost;
        return;
      case LineKind::kFrame:
        break;
    }
    if (!set_channel(frame)) return damage(Flaw::kManyChannels, at, line_.channel.data(), next);
    if (style_ == TimeStyle::kFromFrameToFrame && line_.time != LineTime::kShort && line_.time != LineTime::kNone)
      return damage(Flaw::kTime, at, at, next);
    set_time(frame);
    if (chunk_.count == 0) chunk_.log_form = line_.log_form;
    ++chunk_.count;
    room_.filled();
  }

  void damage(Flaw flaw, const char* line, const char* at, const char* next) {
    ++chunk_.damaged;
    if (chunk_.first_damage.size() == kKeptDamage) return;
    const std::string_view ahead(line, static_cast<std::size_t>(at - line));
    chunk_.first_damage.push_back({chunk_.lines, static_cast<std::uint32_t>(text::count_characters(ahead) + 1),
                                   describe_flaw(flaw, at, next - 1)});
  }

  bool set_channel(can::Frame& frame) {
    if (chunk_.channels.empty() || line_.channel != chunk_.channels[last_channel_]) {
      const auto found = std::find(chunk_.channels.begin(), chunk_.channels.end(), line_.channel);
      if (found == chunk_.channels.end() && chunk_.channels.size() == kMostChannels) return false;
      last_channel_ = static_cast<std::size_t>(found - chunk_.channels.begin());
      if (found == chunk_.channels.end()) chunk_.channels.push_back(line_.channel);
    }
    frame.channel = static_cast<std::uint8_t>(last_channel_);
    if (chunk_.timed) chunk_.usual.expect(line_.channel, frame.channel);
    return true;
  }

  void set_time(can::Frame& frame) {
    if (style_ == TimeStyle::kNone || line_.time == LineTime::kNone) {
      frame.time_us = chunk_.last_time_us;
      if (!chunk_.timed) ++chunk_.untimed_ahead;
      return;
    }
    if (style_ == TimeStyle::kFromFrameToFrame)
      frame.time_us = std::min(frame.time_us + chunk_.last_time_us, kLatestUs);
    if (!chunk_.timed) {
      chunk_.timed = true;
      chunk_.first_time_us = frame.time_us;
    } else if (frame.time_us < chunk_.last_time_us) {
      ++chunk_.backwards;
    }
    chunk_.last_time_us = frame.time_us;
  }

  CandumpChunk& chunk_;
  TimeStyle style_;
  FrameRoom room_;
  bool wide_ = style_ == TimeStyle::kSince1970 || style_ == TimeStyle::kFromFirst;  // ten digits stand for themselves
  Line line_;
  std::size_t last_channel_ = 0;
};

// Counts from the first frame never fall on a sound clock, and end no earlier than the frames took on the fastest bus;
// counts from frame to frame do neither.
TimeStyle judge_short_times(const std::vector<std::int64_t>& times) {
  std::size_t falls = 0;
  for (std::size_t i = 1; i < times.size(); ++i) falls += times[i] < times[i - 1] ? 1 : 0;
  const auto steps = static_cast<std::int64_t>(times.size()) - 1;
  const bool too_soon = times.back() - times.front() < steps * kShortestFrameUs && times.back() > 0;
  const bool often = static_cast<std::int64_t>(falls) * 10 >= steps && falls > 0;
  return often || (steps >= 2 && too_soon) ? TimeStyle::kFromFrameToFrame : TimeStyle::kFromFirst;
}

void read_into(FrameRoom room, CandumpChunk& chunk, TimeStyle style, bool cut) {
  static_cast<CandumpCounts&>(chunk) = {};
  chunk.channels.assign(chunk.known.begin(), chunk.known.end());
  chunk.usual.expect_none();
  ChunkReader(chunk, style, room).read(cut);
}

// What it knew must not take room from what it holds.
bool is_short_of_channels(const CandumpChunk& chunk) {
  return chunk.channels.size() >= kMostChannels && !chunk.known.empty();
}

}  // namespace

void read_candump_chunk(CandumpChunk& chunk, TimeStyle style, bool cut) {
  read_into(FrameRoom(chunk.frames), chunk, style, cut);
  if (is_short_of_channels(chunk)) {
    chunk.known.clear();
    read_into(FrameRoom(chunk.frames), chunk, style, cut);
  }
}

bool look_at_candump_chunk(CandumpChunk& chunk, TimeStyle style, bool cut, const FrameLook& look) {
  if (style == TimeStyle::kSince1970 || style == TimeStyle::kFromFirst) {
    read_into(FrameRoom(chunk.frames, look), chunk, style, cut);
    if (!is_short_of_channels(chunk)) return true;
  }
  read_candump_chunk(chunk, style, cut);
  return false;
}

TimeStyle find_time_style(std::string_view text) {
  std::vector<std::int64_t> short_times;
  can::Frame frame;
  Line line;
  const char* end = text.data() + text.size();
  std::size_t frames = 0;
  for (const char* at = text.data(); at < end && frames < kMostSample;) {
    at = read_candump_line(at, end, frame, line);
    if (line.kind != LineKind::kFrame) continue;
    ++frames;
    if (line.time == LineTime::kDate) return TimeStyle::kSince1970;
    if (line.time == LineTime::kWide)
      return frame.time_us >= kEarliest1970Us ? TimeStyle::kSince1970 : TimeStyle::kFromFirst;
    if (line.time == LineTime::kShort) short_times.push_back(frame.time_us);
  }
  return short_times.empty() ? TimeStyle::kNone : judge_short_times(short_times);
}

void CandumpOrder::begin(CandumpChunk& chunk, TimeStyle style, Recording& recording) {
  for (Damage& damage : chunk.first_damage) {
    if (recording.first_damage.size() == kKeptDamage) break;
    damage.line += recording.lines;
    recording.first_damage.push_back(std::move(damage));
  }
  if (recording.frames == 0 && chunk.count > 0) recording.format = chunk.log_form ? "candump log" : "candump console";
  map_channels(chunk, recording);
  place_times(chunk, style, recording);
  lines_ahead_ = recording.lines;
  recording.lines += chunk.lines;
  recording.bytes += chunk.text.size();
  recording.damaged += chunk.damaged;
  recording.skipped += chunk.skipped;
  recording.lost += chunk.lost;
  recording.truncated = recording.truncated || chunk.truncated;
}

void CandumpOrder::let_go(CandumpChunk& chunk, const Recording& recording) {
  chunk.channels.clear();
  if (recording.channels.size() > kMostKnownChannels)
    chunk.known.clear();
  else if (chunk.known.size() != recording.channels.size())
    chunk.known = recording.channels;
}

void CandumpOrder::map_channels(const CandumpChunk& chunk, Recording& recording) {
  same_channels_ = true;
  for (std::size_t i = 0; i < chunk.channels.size(); ++i) {
    auto found = std::find(recording.channels.begin(), recording.channels.end(), chunk.channels[i]);
    if (found == recording.channels.end() && recording.channels.size() < kMostChannels)
      found = recording.channels.insert(found, std::string(chunk.channels[i]));
    const auto number = static_cast<std::size_t>(found - recording.channels.begin());
    channel_[i] = static_cast<std::uint8_t>(number);  // 255 stands for all those too many
    same_channels_ = same_channels_ && number == i;
  }
}

void CandumpOrder::place_times(const CandumpChunk& chunk, TimeStyle style, Recording& recording) {
  shift_us_ = style == TimeStyle::kFromFrameToFrame ? last_time_us_ : 0;
  untimed_us_ = timed_ ? last_time_us_ : chunk.first_time_us;
  untimed_left_ = chunk.untimed_ahead;
  if (!chunk.timed) return;
  recording.backwards += chunk.backwards;
  if (timed_ && chunk.first_time_us + shift_us_ < last_time_us_) ++recording.backwards;
  timed_ = true;
  last_time_us_ = chunk.last_time_us + shift_us_;
  if (shift_us_ > 0) last_time_us_ = std::min(last_time_us_, kLatestUs);
}

void CandumpOrder::settle(std::span<can::Frame> frames) {
  for (can::Frame& frame : frames) frame.line += lines_ahead_;
  if (shift_us_ != 0 || untimed_left_ > 0) {
    const std::size_t untimed = std::min(untimed_left_, frames.size());
    for (can::Frame& frame : frames.first(untimed)) frame.time_us += untimed_us_;
    for (can::Frame& frame : frames.subspan(untimed)) frame.time_us += shift_us_;
    untimed_left_ -= untimed;
  }
  if (same_channels_) return;
  for (can::Frame& frame : frames) frame.channel = channel_[frame.channel];
}

}  // namespace halfsplit::capture
