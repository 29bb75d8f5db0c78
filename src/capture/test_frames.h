// SPDX-License-Identifier: Apache-2.0
// For tests: all frames of a source, a frame as text, and hands that work in another order than asked.
#pragma once

#include <algorithm>
#include <cstdio>
#include <string>
#include <vector>

#include "base/seams.h"
#include "capture/frame_source.h"

namespace halfsplit::capture {

// Real threads are system's; here every place is filled before the first piece is worked, the last one first.
class FarAhead final : public base::Workers {
 public:
  explicit FarAhead(std::size_t most) : most_(most) {}
  [[nodiscard]] std::size_t hands() const override { return 3; }
  void run(std::size_t count, const std::function<void(std::size_t)>& task) override {
    while (count > 0) task(--count);
  }
  void relay(const base::Relay& pieces) override {
    for (bool more = true; more;) {
      std::size_t filled = 0;
      for (; filled < std::min(most_, pieces.places) && more; filled += more ? 1 : 0) more = pieces.fetch(filled);
      for (std::size_t place = filled; place > 0;) pieces.work(--place);
      for (std::size_t place = 0; place < filled; ++place)
        if (!pieces.hand_on(place)) return;
    }
  }

 private:
  std::size_t most_;
};

struct Read {
  std::vector<can::Frame> frames;
  Recording recording;
};

inline Read read_all(FrameSource& source, std::size_t batch = 100) {
  Read all;
  std::vector<can::Frame> some(batch);
  for (std::size_t count = source.next(some); count > 0; count = source.next(some))
    all.frames.insert(all.frames.end(), some.begin(), some.begin() + static_cast<std::ptrdiff_t>(count));
  all.recording = source.recording();
  return all;
}

// "time line channel ID [length] bytes"
inline std::string show(const can::Frame& frame) {
  char text[64];
  std::snprintf(text, sizeof text, "%lld %llu %u ", static_cast<long long>(frame.time_us),
                static_cast<unsigned long long>(frame.line), frame.channel);
  std::string all = text;
  const char* form = frame.kind == can::FrameKind::kError ? "error %X" : frame.extended ? "%08X" : "%03X";
  std::snprintf(text, sizeof text, form, frame.id);
  all += text;
  if (frame.kind == can::FrameKind::kRemote) all += " remote";
  if (frame.flexible) all += " FD";
  all += " [" + std::to_string(frame.length) + "]";
  for (const std::uint8_t byte : frame.bytes()) {
    std::snprintf(text, sizeof text, " %02X", byte);
    all += text;
  }
  return all;
}

}  // namespace halfsplit::capture
