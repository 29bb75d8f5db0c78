// SPDX-License-Identifier: Apache-2.0
// Three blocks in turn: while one is handed on, the next is read into frames, chunk by chunk, and the one behind it is
// fetched from the file; all as parts of one run of the workers. With one pair of hands they follow each other.
#include "capture/candump_text.h"

#include <algorithm>
#include <array>
#include <utility>

#include "capture/candump_chunk.h"
#include "capture/text_blocks.h"

namespace halfsplit::capture {

namespace {

struct Stage {
  TextBlock block;
  std::vector<CandumpChunk> chunks;  // room, of which as many are used as the block has
  bool there = false;

  [[nodiscard]] std::size_t used() const { return there ? block.chunks().size() : 0; }
};

class CandumpText final : public FrameSource {
 public:
  CandumpText(std::unique_ptr<base::ByteSource> bytes, base::Workers& workers)
      : bytes_(std::move(bytes)), workers_(workers) {}

  [[nodiscard]] std::size_t next(std::span<can::Frame> into) override {
    std::size_t filled = 0;
    while (filled < into.size() && reach_frames()) {
      const CandumpChunk& chunk = handed().chunks[chunk_];
      const std::size_t count = std::min(into.size() - filled, chunk.count - frame_);
      std::copy_n(chunk.frames.begin() + static_cast<std::ptrdiff_t>(frame_), count,
                  into.begin() + static_cast<std::ptrdiff_t>(filled));
      filled += count;
      frame_ += count;
    }
    return filled;
  }

  void deliver(const std::function<bool(std::span<const can::Frame>)>& take) override {
    begin();
    while (!over()) {
      bool wanted = true;
      step([&] { wanted = hand_on(take); });
      if (!wanted) return;
    }
  }

  [[nodiscard]] const Recording& recording() const override { return recording_; }
  [[nodiscard]] std::optional<double> fraction() const override { return fraction_; }

 private:
  [[nodiscard]] Stage& handed() { return stages_[turn_ % 3]; }
  [[nodiscard]] Stage& parsed() { return stages_[(turn_ + 1) % 3]; }
  [[nodiscard]] Stage& fetched() { return stages_[(turn_ + 2) % 3]; }
  [[nodiscard]] bool over() { return !handed().there && !parsed().there && !fetched().there; }

  void begin() {
    if (std::exchange(begun_, true)) return;
    fetch(parsed(), nullptr);
    if (parsed().used() == 0) return;
    const std::string_view first = parsed().block.chunks().front();
    style_ =
        find_time_style({first.data(), static_cast<std::size_t>(parsed().block.chunks().back().end() - first.begin())});
    recording_.time_base = style_ == TimeStyle::kNone        ? TimeBase::kNone
                           : style_ == TimeStyle::kSince1970 ? TimeBase::kAbsolute
                                                             : TimeBase::kRelative;
  }

  // One run of the workers; then everything moves one place on.
  void step(const std::function<void()>& hand_on_all) {
    Stage& now = parsed();
    now.chunks.resize(std::max(now.chunks.size(), now.used()));
    workers_.run(2 + now.used(), [&](std::size_t part) {
      if (part == 0) return hand_on_all();
      if (part == 1) return fetch(fetched(), now.there ? &now.block : nullptr);
      read(now, part - 2);
    });
    ++turn_;
    chunk_ = frame_ = 0;
    settled_ = false;
    const std::optional<std::uint64_t> size = bytes_->size();
    if (size && *size > 0) fraction_ = std::min(1.0, static_cast<double>(bytes_->taken()) / static_cast<double>(*size));
    if (over() && bytes_->problem()) {
      recording_.problem = bytes_->problem();
      recording_.truncated = true;
    }
  }

  void fetch(Stage& stage, const TextBlock* before) {
    stage.there = (before != nullptr || turn_ == 0) && stage.block.fill(*bytes_, before);
  }

  void read(Stage& stage, std::size_t number) {
    CandumpChunk& chunk = stage.chunks[number];
    chunk.text = stage.block.chunks()[number];
    read_candump_chunk(chunk, style_, stage.block.cut() && number + 1 == stage.used());
  }

  // The chunk under way has its place in the whole.
  void settle() {
    if (!std::exchange(settled_, true)) order_.settle(handed().chunks[chunk_], style_, recording_);
  }
  void move_to_next_chunk() {
    ++chunk_;
    frame_ = 0;
    settled_ = false;
  }

  bool hand_on(const std::function<bool(std::span<const can::Frame>)>& take) {
    for (; chunk_ < handed().used(); move_to_next_chunk()) {
      settle();
      const CandumpChunk& chunk = handed().chunks[chunk_];
      if (chunk.count > frame_ && !take(std::span(chunk.frames).subspan(frame_, chunk.count - frame_))) return false;
    }
    return true;
  }

  // Goes on to the next frame not yet given; false: there is none.
  bool reach_frames() {
    begin();
    for (;;) {
      for (; chunk_ < handed().used(); move_to_next_chunk()) {
        settle();
        if (frame_ < handed().chunks[chunk_].count) return true;
      }
      if (over()) return false;
      step([] {});
    }
  }

  std::unique_ptr<base::ByteSource> bytes_;
  base::Workers& workers_;
  std::array<Stage, 3> stages_;
  std::size_t turn_ = 0;  // whose turn it is to be handed on
  bool begun_ = false;
  TimeStyle style_ = TimeStyle::kNone;
  std::size_t chunk_ = 0, frame_ = 0;  // where next() and deliver() stand in what is handed on
  bool settled_ = false;
  CandumpOrder order_;
  Recording recording_;
  std::optional<double> fraction_;
};

}  // namespace

std::unique_ptr<FrameSource> read_candump_text(std::unique_ptr<base::ByteSource> bytes, base::Workers& workers) {
  return std::make_unique<CandumpText>(std::move(bytes), workers);
}

}  // namespace halfsplit::capture
