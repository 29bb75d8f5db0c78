// SPDX-License-Identifier: Apache-2.0
// For tests: traffic made from a list of cyclic messages, with stretches in which senders are silent.
#pragma once

#include <algorithm>
#include <cstdint>
#include <initializer_list>
#include <vector>

#include "base/rng.h"
#include "can/frame.h"
#include "can/j1939_id.h"

namespace halfsplit::capture {

inline can::Frame made_frame(std::int64_t time_us, std::uint32_t id, std::initializer_list<int> bytes,
                             std::uint8_t channel = 0, bool extended = true) {
  can::Frame frame{};
  frame.time_us = time_us;
  frame.id = id;
  frame.extended = extended;
  frame.channel = channel;
  for (const int byte : bytes) frame.data[frame.length++] = static_cast<std::uint8_t>(byte);
  return frame;
}

inline std::uint32_t made_id(std::uint32_t pgn, std::uint8_t source, std::uint8_t destination = 255) {
  return can::join_j1939_id(can::make_j1939_id(pgn, source, destination));
}

struct MadeMessage {
  std::uint32_t id = 0;
  std::int64_t period_us = 100'000;
  double jitter = 0.0;  // standard deviation, share of the period; at most a third of it is used
  bool extended = true;
  std::uint8_t channel = 0;
};

struct MadeSilence {
  std::vector<std::uint32_t> ids;
  std::int64_t from_us = 0, to_us = 0;
};

class MadeTraffic {
 public:
  explicit MadeTraffic(std::uint64_t seed, std::int64_t start_us = 1'600'000'000'000'000)
      : rng_(seed), start_us_(start_us) {}

  void cyclic(const MadeMessage& message, std::int64_t until_us, const std::vector<MadeSilence>& silences = {}) {
    const auto period = static_cast<double>(message.period_us);
    for (double due = rng_.uniform() * period; due < static_cast<double>(until_us); due += period) {
      const double late = std::clamp(rng_.normal() * message.jitter, -0.3, 0.3) * period;
      const auto at = static_cast<std::int64_t>(std::max(0.0, due + late));
      const bool silent = std::any_of(silences.begin(), silences.end(), [&](const MadeSilence& s) {
        return at >= s.from_us && at < s.to_us && std::find(s.ids.begin(), s.ids.end(), message.id) != s.ids.end();
      });
      if (!silent) add(made_frame(at, message.id, {1, 2, 3, 4, 5, 6, 7, 8}, message.channel, message.extended));
    }
  }
  // Its time counts from the start.
  void add(can::Frame frame) {
    frame.time_us += start_us_;
    frames_.push_back(frame);
  }
  [[nodiscard]] base::Rng& rng() { return rng_; }
  // By time, lines numbered.
  [[nodiscard]] std::vector<can::Frame> frames() {
    std::stable_sort(frames_.begin(), frames_.end(),
                     [](const can::Frame& a, const can::Frame& b) { return a.time_us < b.time_us; });
    std::uint64_t line = 0;
    for (can::Frame& frame : frames_) frame.line = ++line;
    return frames_;
  }

 private:
  base::Rng rng_;
  std::int64_t start_us_;
  std::vector<can::Frame> frames_;
};

}  // namespace halfsplit::capture
