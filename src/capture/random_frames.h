// SPDX-License-Identifier: Apache-2.0
// For tests: frames of every kind a bus has, from a seed.
#pragma once

#include <vector>

#include "base/rng.h"
#include "can/frame.h"

namespace halfsplit::capture {

inline can::Frame make_random_frame(base::Rng& rng, std::int64_t time_us, std::size_t channels) {
  constexpr std::uint8_t kFlexibleLengths[] = {0, 1, 7, 8, 12, 16, 20, 24, 32, 48, 64};
  can::Frame frame;
  frame.time_us = time_us;
  const std::uint64_t kind = rng.below(20);
  frame.kind = kind == 0 ? can::FrameKind::kError : kind == 1 ? can::FrameKind::kRemote : can::FrameKind::kData;
  frame.extended = frame.kind != can::FrameKind::kError && rng.chance(0.8);
  const bool long_id = frame.extended || frame.kind == can::FrameKind::kError;
  frame.id =
      static_cast<std::uint32_t>(rng.below((long_id ? can::kLargestExtendedId : can::kLargestStandardId) + 1ULL));
  frame.flexible = frame.kind == can::FrameKind::kData && rng.chance(0.1);
  frame.length = frame.flexible    ? kFlexibleLengths[rng.below(11)]
                 : rng.chance(0.7) ? 8
                                   : static_cast<std::uint8_t>(rng.below(9));
  for (auto& byte : frame.data) byte = static_cast<std::uint8_t>(rng.below(256));
  frame.channel = static_cast<std::uint8_t>(rng.below(channels));
  return frame;
}

// Times never fall; the lines count from 1; the channels appear in the order of their numbers.
inline std::vector<can::Frame> make_random_frames(std::uint64_t seed, std::size_t count, std::size_t channels) {
  base::Rng rng(seed);
  std::vector<can::Frame> frames;
  std::int64_t time_us = 1'600'000'000'000'000;
  for (std::size_t i = 0; i < count; ++i) {
    time_us += static_cast<std::int64_t>(rng.below(100'000));
    frames.push_back(make_random_frame(rng, time_us, channels));
    frames.back().line = i + 1;
    if (i < channels) frames.back().channel = static_cast<std::uint8_t>(i);
  }
  return frames;
}

}  // namespace halfsplit::capture
