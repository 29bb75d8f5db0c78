// SPDX-License-Identifier: Apache-2.0
// For tests: frames as a source that hands them on in pieces cut at random places, some pieces looked at before those
// ahead of them are taken, some as frames whose channel or time only their order tells.
#pragma once

#include <algorithm>
#include <deque>
#include <utility>
#include <vector>

#include "base/rng.h"
#include "capture/frame_source.h"

namespace halfsplit::capture {

class CutSource final : public FrameSource {
 public:
  CutSource(std::vector<can::Frame> frames, std::uint64_t seed, std::size_t longest)
      : frames_(std::move(frames)), rng_(seed), longest_(longest) {}

  [[nodiscard]] std::size_t next(std::span<can::Frame>) override { return 0; }
  [[nodiscard]] const Recording& recording() const override { return recording_; }

  void deliver_pieces(PieceTaker& taker) override {
    taker.begin(kPlaces);
    std::size_t looked_at = 0, number = 0;
    std::deque<std::vector<can::Frame>> ahead;
    while (looked_at < frames_.size() || !ahead.empty()) {
      while (looked_at < frames_.size() && (ahead.empty() || (ahead.size() < kPlaces && rng_.chance(0.7)))) {
        ahead.push_back(cut(looked_at));
        show(taker, (number + ahead.size() - 1) % kPlaces, ahead.back());
      }
      hand_on(taker, number++ % kPlaces, ahead.front());
      ahead.pop_front();
      if (!taker.wants_more()) return;
    }
  }
  [[nodiscard]] std::size_t taken_as_counted() const { return taken_as_counted_; }

 private:
  static constexpr std::size_t kPlaces = 3;

  // Lines as counted from the piece's beginning.
  std::vector<can::Frame> cut(std::size_t& from) {
    const std::size_t count = std::min(frames_.size() - from, 1 + static_cast<std::size_t>(rng_.below(longest_)));
    std::vector<can::Frame> piece(frames_.begin() + static_cast<std::ptrdiff_t>(from),
                                  frames_.begin() + static_cast<std::ptrdiff_t>(from + count));
    for (can::Frame& frame : piece) frame.line -= from;
    from += count;
    return piece;
  }
  // Some at a time, each gone when it was looked at.
  void show(PieceTaker& taker, std::size_t place, const std::vector<can::Frame>& piece) {
    taker.begin_piece(place);
    for (std::size_t from = 0; from < piece.size();) {
      const std::size_t count = std::min(piece.size() - from, 1 + static_cast<std::size_t>(rng_.below(longest_)));
      std::vector<can::Frame> some(piece.begin() + static_cast<std::ptrdiff_t>(from),
                                   piece.begin() + static_cast<std::ptrdiff_t>(from + count));
      taker.look_at(place, some);
      from += count;
    }
  }
  void hand_on(PieceTaker& taker, std::size_t place, std::vector<can::Frame>& piece) {
    if (!rng_.chance(0.1) && taker.take(place, lines_ahead_)) {
      ++taken_as_counted_;
    } else {
      for (can::Frame& frame : piece) frame.line += lines_ahead_;
      taker.take_settled(place, piece);
    }
    lines_ahead_ += piece.size();
  }

  std::vector<can::Frame> frames_;
  base::Rng rng_;
  std::size_t longest_;
  std::uint64_t lines_ahead_ = 0;
  std::size_t taken_as_counted_ = 0;
  Recording recording_;
};

}  // namespace halfsplit::capture
