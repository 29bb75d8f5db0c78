// SPDX-License-Identifier: Apache-2.0
// Whoever counts a piece, and wherever it was cut: the findings are those of one frame after the other. Of a single
// frame nothing is counted within a piece, so that way is the twin.
#include "capture/piece_counts.h"

#include <gtest/gtest.h>

#include <string>

#include "capture/cut_source.h"
#include "capture/findings_text.h"
#include "capture/made_traffic.h"
#include "capture/random_frames.h"
#include "capture/study.h"

namespace halfsplit::capture {
namespace {

std::string one_by_one(const std::vector<can::Frame>& frames) {
  Study study;
  for (const can::Frame& frame : frames) study.take({&frame, 1});
  return findings_text(study.findings());
}

std::string in_pieces(const std::vector<can::Frame>& frames, std::uint64_t seed, std::size_t longest,
                      double at_least_counted = 0.0) {
  Study study;
  CutSource source(frames, seed, longest);
  study.take_all(source, [] { return true; });
  EXPECT_GE(static_cast<double>(source.taken_as_counted()), at_least_counted);
  return findings_text(study.findings());
}

// Every kind of content, a few senders on two channels, errors, pauses; `unruly`: and a clock that is set now and then.
std::vector<can::Frame> busy_traffic(std::uint64_t seed, int count, bool unruly) {
  constexpr std::uint32_t kGroups[] = {60928, 59904, 59392, 60416, 60160, 65226, 65227, 65271, 0xDA00, 61444, 61443};
  base::Rng rng(seed);
  std::vector<can::Frame> frames;
  std::int64_t at = 1'600'000'000'000'000;
  for (int i = 0; i < count; ++i) {
    at += static_cast<std::int64_t>(rng.below(rng.chance(0.02) ? 400'000 : 4'000));
    if (rng.chance(0.05)) at -= 300;
    if (unruly && rng.chance(0.003)) at += rng.chance(0.5) ? -5'000'000 : 100'000'000'000;
    const auto to = static_cast<std::uint8_t>(rng.chance(0.5) ? 255 : rng.below(6));
    const std::uint32_t group = rng.chance(0.6) ? 61444 : kGroups[rng.below(11)];
    can::Frame frame = made_frame(at, made_id(group, static_cast<std::uint8_t>(rng.below(6)), to), {},
                                  static_cast<std::uint8_t>(rng.chance(0.2)));
    frame.length = 8;
    for (std::size_t b = 0; b < 8; ++b)
      frame.data[b] = static_cast<std::uint8_t>(rng.chance(0.3) ? 0xFE : rng.below(40));
    if (group == 59904 && rng.chance(0.7)) {
      const std::uint32_t asked = kGroups[rng.below(11)];
      for (std::size_t b = 0; b < 3; ++b) frame.data[b] = static_cast<std::uint8_t>(asked >> 8 * b);
    }
    if (rng.chance(0.02)) frame.kind = rng.chance(0.5) ? can::FrameKind::kError : can::FrameKind::kRemote;
    frame.line = frames.size() + 1;
    frames.push_back(frame);
  }
  return frames;
}

class Pieces : public ::testing::TestWithParam<std::size_t> {};  // the longest piece

TEST_P(Pieces, OfSteadyTrafficAreTakenAsCountedAndTellTheSame) {
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const std::vector<can::Frame> frames = busy_traffic(seed, 20'000, false);
    // Of the first ones in each place nothing was known when they were counted.
    const double pieces = 2.0 * 20'000.0 / static_cast<double>(GetParam());
    EXPECT_EQ(in_pieces(frames, seed, GetParam(), 0.5 * pieces - 3.0), one_by_one(frames));
  }
}

TEST_P(Pieces, OfARecordingWhoseClockWasSetTellTheSame) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const std::vector<can::Frame> frames = busy_traffic(seed, 4'000, true);
    EXPECT_EQ(in_pieces(frames, seed, GetParam()), one_by_one(frames));
  }
}

TEST_P(Pieces, OfAnyFramesTellTheSame) {
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const std::vector<can::Frame> frames = make_random_frames(seed, 3'000, 4);
    EXPECT_EQ(in_pieces(frames, seed, GetParam()), one_by_one(frames));
  }
}

TEST_P(Pieces, LongSteadyTrafficTellsTheSame) {
  MadeTraffic made(GetParam());
  made.cyclic({made_id(61444, 0), 20'000, 0.1}, 120'000'000, {{{made_id(61444, 0)}, 31'000'000, 32'500'000}});
  made.cyclic({made_id(65262, 0), 1'000'000, 0.05}, 120'000'000);
  made.cyclic({made_id(61441, 11), 100'000, 0.1}, 120'000'000, {{{made_id(61441, 11)}, 31'000'000, 33'000'000}});
  made.cyclic({0x123, 50'000, 0.1, false, 1}, 90'000'000);
  const std::vector<can::Frame> frames = made.frames();
  EXPECT_EQ(in_pieces(frames, 7, GetParam()), one_by_one(frames));
}

INSTANTIATE_TEST_SUITE_P(Sizes, Pieces, ::testing::Values(3, 40, 300, 5'000));

// More messages and senders than are kept: what is not kept counts for nothing else, in a piece as anywhere.
TEST(PieceCounts, WhatTheStudyHasNoRoomForIsCountedOnly) {
  base::Rng rng(4);
  std::vector<can::Frame> frames;
  std::int64_t at = 0;
  for (int i = 0; i < 30'000; ++i) {
    at += static_cast<std::int64_t>(rng.below(5'000));
    const bool known = i > 20 && rng.chance(0.3);
    frames.push_back(known ? frames[rng.below(20)]
                           : made_frame(0, static_cast<std::uint32_t>(rng.below(1U << 29U)), {1},
                                        static_cast<std::uint8_t>(rng.below(256))));
    frames.back().time_us = at;
    frames.back().line = static_cast<std::uint64_t>(i) + 1;
  }
  EXPECT_EQ(in_pieces(frames, 5, 2'000), one_by_one(frames));
}

// Tables of messages are begun anew before they are full; a piece longer than may be counted is taken as frames.
TEST(PieceCounts, TablesThatWouldGrowTooLargeAreBegunAnew) {
  std::vector<can::Frame> frames;
  for (std::uint32_t i = 0; i < 300'000; ++i) {
    const std::uint32_t id = i % 3 == 0 ? made_id(61444, 0) : i % 3 == 1 ? i : i / 2;
    frames.push_back(made_frame(i * 100, id, {1}));
    frames.back().line = i + 1;
  }
  EXPECT_EQ(in_pieces(frames, 6, 20'000), one_by_one(frames));
}

TEST(PieceCounts, EndsWhereNoMoreIsWanted) {
  Study study;
  CutSource source(make_random_frames(1, 1'000, 1), 3, 10);
  int pieces = 0;
  study.take_all(source, [&] { return ++pieces < 5; });
  EXPECT_EQ(pieces, 5);
  EXPECT_LE(study.findings().frames, 50U);
}

}  // namespace
}  // namespace halfsplit::capture
