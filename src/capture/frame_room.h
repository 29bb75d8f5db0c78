// SPDX-License-Identifier: Apache-2.0
// Where a reader puts the frames of a piece: into a vector that grows, or only into the beginning of it, which stays
// near the core: somebody gets them from there some at a time, before others take their place.
#pragma once

#include <algorithm>
#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "can/frame.h"

namespace halfsplit::capture {

using FrameLook = std::function<void(std::span<const can::Frame>)>;

constexpr std::size_t kNearFrames = 128;  // 12 kB

class FrameRoom {
 public:
  explicit FrameRoom(std::vector<can::Frame>& frames) : frames_(frames) { use(frames, 0); }
  FrameRoom(std::vector<can::Frame>& frames, const FrameLook& look) : frames_(frames), look_(&look) {
    if (frames.size() < kNearFrames) frames.resize(kNearFrames);
    use(std::span(frames).first(kNearFrames), 0);
  }

  // Where the next frame goes, and how many more fit there. Who filled some says so.
  [[nodiscard]] can::Frame* next() { return next_; }
  [[nodiscard]] std::size_t left() const { return static_cast<std::size_t>(end_ - next_); }
  void filled(std::size_t count = 1) { next_ += count; }
  // When none is left.
  void make() {
    if (look_ != nullptr) return finish();
    const std::size_t count = frames_.size();
    frames_.resize(std::max(kLeastKept, count * 2));
    use(frames_, count);
  }
  // Those that nobody looked at yet.
  void finish() {
    if (look_ == nullptr || next_ == begin_) return;
    (*look_)({begin_, next_});
    next_ = begin_;
  }

 private:
  static constexpr std::size_t kLeastKept = 1024;
  void use(std::span<can::Frame> room, std::size_t count) {
    begin_ = room.data();
    next_ = begin_ + count;
    end_ = begin_ + room.size();
  }

  std::vector<can::Frame>& frames_;
  const FrameLook* look_ = nullptr;
  can::Frame *begin_ = nullptr, *next_ = nullptr, *end_ = nullptr;
};

}  // namespace halfsplit::capture
