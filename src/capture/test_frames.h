// SPDX-License-Identifier: Apache-2.0
// For tests: all frames of a source, also piece by piece, a frame as text, and hands that work in another order than
// asked.
#pragma once

#include <algorithm>
#include <cstdio>
#include <string>
#include <vector>

#include "base/check.h"
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

// Takes pieces as they were looked at where it may, but refuses each so manieth (0: none), which is read anew then.
class Taker final : public PieceTaker {
 public:
  explicit Taker(std::size_t refused_of = 0) : refused_of_(refused_of) {}

  void begin(std::size_t places) override { places_.resize(places); }
  void begin_piece(std::size_t place) override { places_[place].clear(); }
  void look_at(std::size_t place, std::span<const can::Frame> frames) override {
    most_at_once = std::max(most_at_once, frames.size());
    places_[place].insert(places_[place].end(), frames.begin(), frames.end());
  }
  bool take(std::size_t place, std::uint64_t lines_ahead) override {
    if (refused_of_ > 0 && ++asked_ % refused_of_ == 0) return false;
    ++as_looked_at;
    for (can::Frame frame : places_[place]) {
      frame.line += lines_ahead;
      shown.push_back(show(frame));
    }
    return true;
  }
  void take_settled(std::size_t, std::span<const can::Frame> frames) override {
    if (!frames.empty()) ++settled;
    for (const can::Frame& frame : frames) shown.push_back(show(frame));
  }
  bool wants_more() override { return true; }

  std::size_t as_looked_at = 0, settled = 0, most_at_once = 0;
  std::vector<std::string> shown;

 private:
  std::size_t refused_of_, asked_ = 0;
  std::vector<std::vector<can::Frame>> places_;
};

// For fuzz targets: pieces that are looked at, and pieces that are refused and read anew, hold these frames.
// `open()`: the source once more.
template <class Open>
void check_pieces(const Open& open, const std::vector<can::Frame>& frames) {
  for (const std::size_t refused_of : {0, 1}) {
    Taker taker(refused_of);
    open()->deliver_pieces(taker);
    HS_CHECK(taker.shown.size() == frames.size(), "pieces hold as many frames");
    for (std::size_t i = 0; i < frames.size(); ++i) HS_CHECK(taker.shown[i] == show(frames[i]), "and the same");
  }
}

}  // namespace halfsplit::capture
