// SPDX-License-Identifier: Apache-2.0
// What a recording tells, found while it passes by: `take` frames in the order of the recording, in pieces of any size,
// then ask for the findings, which do not depend on how it was cut. Memory depends on how many senders and messages
// there are (bounded by kMostSenders, kMostMessages), not on the length. Not for several threads at once.
#pragma once

#include <functional>
#include <memory>
#include <span>

#include "can/frame.h"
#include "capture/findings.h"
#include "capture/frame_source.h"

namespace halfsplit::capture {

struct StudyOptions {
  double bit_rate = 0.0;  // bit/s; 0: guessed
};

class Study {
 public:
  explicit Study(const StudyOptions& options = {});
  ~Study();
  Study(Study&&) noexcept;
  Study& operator=(Study&&) noexcept;

  void take(std::span<const can::Frame> frames);
  // All that is left of a recording; its pieces are counted by all hands the source has. Ends early when `go_on`, asked
  // once a piece, returns false.
  void take_all(FrameSource& source, const std::function<bool()>& go_on);
  // All so far. Long messages under way are given up as incomplete; taking may go on.
  [[nodiscard]] Findings findings();

 private:
  class State;
  class Pieces;
  std::unique_ptr<State> state_;
};

}  // namespace halfsplit::capture
