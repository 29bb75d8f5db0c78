// SPDX-License-Identifier: Apache-2.0
#include "capture/candump_text.h"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "capture/candump_chunk.h"
#include "capture/peeked_bytes.h"
#include "capture/staged_source.h"
#include "capture/text_pieces.h"

namespace halfsplit::capture {

namespace {

constexpr std::size_t kLookedAtForTimes = 512 * 1024;

class CandumpReader {
 public:
  struct Piece : CandumpChunk {
    TextPiece lines;
  };

  explicit CandumpReader(std::unique_ptr<base::ByteSource> bytes)
      : bytes_(std::make_unique<PeekedBytes>(std::move(bytes))) {}

  bool fetch(Piece& piece) {
    if (!std::exchange(begun_, true)) style_ = look_for_style();
    return pieces_.fetch(*bytes_, piece.lines);
  }
  void read(Piece& piece) const {
    piece.text = piece.lines.text;
    read_candump_chunk(piece, style_, piece.lines.cut);
  }
  [[nodiscard]] bool look_at(Piece& piece, const FrameLook& look) const {
    piece.text = piece.lines.text;
    return look_at_candump_chunk(piece, style_, piece.lines.cut, look);
  }
  void begin_settling(Piece& piece, Recording& recording) {
    recording.time_base = style_ == TimeStyle::kNone        ? TimeBase::kNone
                          : style_ == TimeStyle::kSince1970 ? TimeBase::kAbsolute
                                                            : TimeBase::kRelative;
    order_.begin(piece, style_, recording);
  }
  void settle(const Piece&, std::span<can::Frame> frames) { order_.settle(frames); }
  static void let_go(Piece& piece, const Recording& recording) { CandumpOrder::let_go(piece, recording); }
  [[nodiscard]] std::optional<std::uint64_t> only_lines() const { return order_.only_lines(); }
  void end(Recording& recording) const {
    if (!bytes_->problem()) return;
    recording.problem = bytes_->problem();
    recording.truncated = true;
  }
  [[nodiscard]] double fraction() const {
    const std::optional<std::uint64_t> size = bytes_->size();
    if (!size || *size == 0) return -1.0;
    return std::min(1.0, static_cast<double>(bytes_->taken()) / static_cast<double>(*size));
  }

 private:
  // Of whole lines only, unless the file has no more.
  TimeStyle look_for_style() {
    const std::string_view beginning = bytes_->peek(kLookedAtForTimes);
    const std::size_t end = beginning.rfind('\n');
    const bool whole = end != std::string_view::npos;
    if (whole && (end + 1 == beginning.size() || beginning.size() == kLookedAtForTimes))
      return find_time_style(beginning.substr(0, end + 1));
    return find_time_style(std::string(beginning) + '\n');
  }

  std::unique_ptr<PeekedBytes> bytes_;
  bool begun_ = false;
  TimeStyle style_ = TimeStyle::kNone;
  TextPieces pieces_;
  CandumpOrder order_;
};

}  // namespace

std::unique_ptr<FrameSource> read_candump_text(std::unique_ptr<base::ByteSource> bytes, base::Workers& workers) {
  return std::make_unique<StagedSource<CandumpReader>>(CandumpReader(std::move(bytes)), workers);
}

}  // namespace halfsplit::capture
