// SPDX-License-Identifier: Apache-2.0
// Where recorded frames come from: a text log, a packet file, a live tap. Damage is counted and passed over, never the
// end of the reading. Frames come in the order of the file.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/cancel.h"
#include "base/diagnostic.h"
#include "base/result.h"
#include "can/frame.h"

namespace halfsplit::capture {

enum class TimeBase : std::uint8_t {
  kNone,      // the file has no times: order only, time_us is 0 throughout
  kRelative,  // counts from the first frame, or from frame to frame (then summed up)
  kAbsolute,  // since 1970
};

// Something in the file that was passed over.
struct Damage {
  std::uint64_t line = 0;    // as Frame::line
  std::uint32_t column = 0;  // from 1; 0: the whole line or packet
  std::string what;          // "not a frame: \"can0 1234\""
};

struct Recording {
  std::string format;  // "candump log", "candump console", "pcap", "pcapng", "live"
  TimeBase time_base = TimeBase::kNone;
  std::vector<std::string> channels;  // names in the order of Frame::channel
  std::uint64_t frames = 0, lines = 0, bytes = 0;
  std::uint64_t damaged = 0;                // lines or packets passed over
  std::uint64_t skipped = 0;                // empty lines, comments, packets of other links
  std::vector<Damage> first_damage;         // at most kKeptDamage
  bool truncated = false;                   // ended in the middle of a line, packet or compressed block
  std::optional<base::Diagnostic> problem;  // why it ended before its time, where more than `truncated` is known
  std::uint64_t backwards = 0;              // times that lie before the frame ahead of them
  std::uint64_t lost = 0;                   // frames that the tap itself says it lost
};
constexpr std::size_t kKeptDamage = 8;
constexpr std::size_t kBatch = 1024;
// A piece begins with the numbers that channels have in the recording as far as they are known, if these are few: then
// its frames mostly have the right ones from the start.
constexpr std::size_t kMostKnownChannels = 64;

// Who takes a recording piece by piece and has something to do with a piece before its place behind the others is
// known. Pieces lie in places, each used again when its piece was taken. Calls for one place never overlap; all but
// begin_piece and look_at come in the order of the recording and never overlap at all.
class PieceTaker {
 public:
  virtual ~PieceTaker() = default;
  virtual void begin(std::size_t places) = 0;
  // By whichever thread reads it: a piece, then its frames, some at a time, gone when look_at returns. Lines and
  // channels count from the beginning of the piece.
  virtual void begin_piece(std::size_t place) = 0;
  virtual void look_at(std::size_t place, std::span<const can::Frame> frames) = 0;
  // All frames looked at since begin_piece, with so many lines ahead of theirs and nothing else to be altered. False:
  // not like this.
  virtual bool take(std::size_t place, std::uint64_t lines_ahead) = 0;
  // All frames of a piece as they are in the recording, read anew: where more has to be altered, or take said no.
  virtual void take_settled(std::size_t place, std::span<const can::Frame> frames) = 0;
  virtual bool wants_more() = 0;
};

class FrameSource {
 public:
  virtual ~FrameSource() = default;
  // Fills `into` from the front and returns how many; 0: the end.
  [[nodiscard]] virtual std::size_t next(std::span<can::Frame> into) = 0;
  // All that is left, batch by batch in order, each valid during its call; reading may go on beside `take` on another
  // thread, calls of `take` never overlap and must not use the source's Workers. Ends early when `take` returns false.
  // Fastest where a source has Workers.
  virtual void deliver(const std::function<bool(std::span<const can::Frame>)>& take) {
    std::vector<can::Frame> batch(kBatch);
    for (std::size_t count = next(batch); count > 0; count = next(batch))
      if (!take(std::span<const can::Frame>(batch).first(count))) return;
  }
  // The same, piece by piece.
  virtual void deliver_pieces(PieceTaker& taker) {
    taker.begin(1);
    deliver([&](std::span<const can::Frame> frames) {
      taker.take_settled(0, frames);
      return taker.wants_more();
    });
  }
  // How much of the file has been read, 0 to 1; none: nobody knows how long it is.
  [[nodiscard]] virtual std::optional<double> fraction() const { return std::nullopt; }
  // What has been read so far; inside `take` perhaps a little more than was delivered.
  [[nodiscard]] virtual const Recording& recording() const = 0;
};

// Interfaces of the machine that can be listened to; a door without any leaves the seam empty.
class LiveTaps {
 public:
  virtual ~LiveTaps() = default;
  // Listens for `seconds`, or until `cancel`. Errors: live.no-can, live.no-interface, live.refused.
  [[nodiscard]] virtual base::Result<std::unique_ptr<FrameSource>> open(const std::string& interface, double seconds,
                                                                        base::CancelToken cancel) = 0;
};

}  // namespace halfsplit::capture
