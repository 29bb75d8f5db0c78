// SPDX-License-Identifier: Apache-2.0
// Recorded messages are held against this in tests/frames.
#include "can/fast_packet.h"

#include <gtest/gtest.h>

#include "base/rng.h"
#include "can/test_frames.h"

namespace halfsplit::can {
namespace {

using Bytes = std::vector<std::uint8_t>;

std::vector<Bytes> packets_of(const Bytes& text, unsigned sequence) {
  std::vector<Bytes> frames;
  std::size_t at = 0;
  for (unsigned number = 0; number == 0 || at < text.size(); ++number) {
    Bytes bytes = {static_cast<std::uint8_t>(sequence << 5 | number)};
    if (number == 0) bytes.push_back(static_cast<std::uint8_t>(text.size()));
    while (bytes.size() < 8 && at < text.size()) bytes.push_back(text[at++]);
    bytes.resize(8, 0xFF);
    frames.push_back(bytes);
  }
  return frames;
}

TEST(FastPackets, EveryLengthInAnyOrderOfTheLaterFrames) {
  base::Rng rng(2000);
  for (std::size_t size = 1; size <= kLongestFastPacket; ++size) {
    Bytes text(size);
    for (std::uint8_t& byte : text) byte = static_cast<std::uint8_t>(rng.below(256));
    std::vector<Bytes> frames = packets_of(text, size % 8);
    for (std::size_t k = frames.size() - 1; k > 1; --k) std::swap(frames[k], frames[1 + rng.below(k)]);
    TestFrames tap;
    FastPackets packets;
    std::vector<FastMessage> ended;
    for (const Bytes& bytes : frames) packets.take(tap.next(0x0DF80503, bytes), ended);
    ASSERT_EQ(ended.size(), 1U) << size;
    EXPECT_TRUE(ended[0].complete);
    EXPECT_EQ(ended[0].bytes, text);
    EXPECT_EQ(ended[0].pgn, 129029U);
    EXPECT_EQ(ended[0].received, frames.size());
  }
}

TEST(FastPackets, WhatIsMissingIsTold) {
  TestFrames tap;
  FastPackets packets;
  std::vector<FastMessage> ended;
  const std::vector<Bytes> frames = packets_of(Bytes(20, 1), 0);
  packets.take(tap.next(0x0DF80503, frames[0]), ended);
  packets.take(tap.next(0x0DF80503, frames[1]), ended);
  packets.take(tap.next(0x0DF80503, frames[0], 750), ended);  // begins anew
  EXPECT_EQ(ended.size(), 1U);
  packets.take(tap.next(0x0DF80503, frames[1], 751), ended);  // too late for that one
  EXPECT_EQ(ended.size(), 2U);
  packets.finish(ended);
  ASSERT_EQ(ended.size(), 3U);
  for (const FastMessage& message : ended) EXPECT_FALSE(message.complete || !message.bytes.empty());
}

// The first frame of the one message was lost; that of the next must not be glued onto what is left of it.
TEST(FastPackets, AFirstFrameAfterAllOthersBeginsAnew) {
  TestFrames tap;
  FastPackets packets;
  std::vector<FastMessage> ended;
  const std::vector<Bytes> lost = packets_of(Bytes(20, 1), 0);
  const std::vector<Bytes> whole = packets_of(Bytes(20, 2), 0);
  for (std::size_t k = 1; k < lost.size(); ++k) packets.take(tap.next(0x0DF80503, lost[k]), ended);
  for (const Bytes& bytes : whole) packets.take(tap.next(0x0DF80503, bytes), ended);
  ASSERT_EQ(ended.size(), 2U);
  EXPECT_FALSE(ended[0].complete);
  EXPECT_EQ(ended[1].bytes, Bytes(20, 2));
}

TEST(FastPackets, OnlyTheListedGroups) {
  for (const std::uint32_t pgn : {126208U, 129029U, 130577U, 126720U, 130816U, 131071U})
    EXPECT_TRUE(is_fast_packet(pgn));
  for (const std::uint32_t pgn : {0U, 65226U, 127488U, 127508U, 130311U, 131072U}) EXPECT_FALSE(is_fast_packet(pgn));
}

}  // namespace
}  // namespace halfsplit::can
