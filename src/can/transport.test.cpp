// SPDX-License-Identifier: Apache-2.0
// Recorded transfers are held against this in tests/frames.
#include "can/transport.h"

#include <gtest/gtest.h>

#include <map>
#include <tuple>

#include "base/rng.h"
#include "can/test_frames.h"

namespace halfsplit::can {
namespace {

using Bytes = std::vector<std::uint8_t>;
constexpr std::uint32_t kControl = 0x18EC0000;
constexpr std::uint32_t kData = 0x18EB0000;

Bytes text_of(std::size_t size) {
  Bytes bytes;
  for (std::size_t k = 0; k < size; ++k) bytes.push_back(static_cast<std::uint8_t>(k * 7 + 3));
  return bytes;
}

// A bus on which stations speak by hand.
class Bus {
 public:
  void control(std::uint8_t from, std::uint8_t to, const Bytes& first_five, std::uint32_t pgn,
               std::int64_t after_ms = 1) {
    Bytes bytes = first_five;
    bytes.resize(5, 0xFF);
    for (const unsigned shift : {0U, 8U, 16U}) bytes.push_back(static_cast<std::uint8_t>(pgn >> shift));
    take(frames_.next(kControl | to << 8U | from, bytes, after_ms));
  }
  void announce(std::uint8_t from, std::uint8_t to, std::size_t size, std::uint32_t pgn, std::int64_t after_ms = 1) {
    const auto packets = static_cast<std::uint8_t>((size + 6) / 7);
    control(from, to,
            {static_cast<std::uint8_t>(to == 0xFF ? 32 : 16), static_cast<std::uint8_t>(size),
             static_cast<std::uint8_t>(size >> 8), packets},
            pgn, after_ms);
  }
  void packet(std::uint8_t from, std::uint8_t to, const Bytes& text, std::size_t number, std::int64_t after_ms = 1) {
    Bytes bytes = {static_cast<std::uint8_t>(number)};
    for (std::size_t k = (number - 1) * 7; k < number * 7; ++k) bytes.push_back(k < text.size() ? text[k] : 0xFF);
    take(frames_.next(kData | to << 8U | from, bytes, after_ms));
  }
  void packets(std::uint8_t from, std::uint8_t to, const Bytes& text, std::size_t first, std::size_t last) {
    for (std::size_t number = first; number <= last; ++number) packet(from, to, text, number);
  }
  void take(const Frame& frame) { transport.take(frame, ended); }
  void finish() { transport.finish(ended); }
  TestFrames& frames() { return frames_; }

  Transport transport;
  std::vector<TransportMessage> ended;

 private:
  TestFrames frames_;
};

TEST(Transport, ABroadcastIsPutTogether) {
  Bus bus;
  const Bytes text = text_of(20);
  bus.announce(0x17, 0xFF, 20, 0xFECA);
  bus.packets(0x17, 0xFF, text, 1, 3);
  ASSERT_EQ(bus.ended.size(), 1U);
  const TransportMessage& message = bus.ended[0];
  EXPECT_EQ(message.end, TransportEnd::kComplete);
  EXPECT_TRUE(message.broadcast);
  EXPECT_FALSE(message.acknowledged);
  EXPECT_EQ(message.bytes, text);
  EXPECT_EQ(message.pgn, 0xFECAU);
  EXPECT_EQ(message.source, 0x17);
  EXPECT_EQ(message.destination, 0xFF);
  EXPECT_EQ(message.first_line, 1U);
  EXPECT_EQ(message.last_line, 4U);
  EXPECT_EQ(message.last_us - message.first_us, 3000);
  EXPECT_EQ(bus.transport.counts().complete, 1U);
}

TEST(Transport, BetweenTwoItEndsWithTheAcknowledgement) {
  Bus bus;
  const Bytes text = text_of(23);
  bus.announce(0x00, 0xF9, 23, 0xFEEC);
  bus.control(0xF9, 0x00, {17, 2, 1}, 0xFEEC);
  bus.packets(0x00, 0xF9, text, 1, 2);
  bus.control(0xF9, 0x00, {17, 2, 3}, 0xFEEC);
  bus.packets(0x00, 0xF9, text, 3, 4);
  EXPECT_TRUE(bus.ended.empty());
  bus.control(0xF9, 0x00, {19, 23, 0, 4}, 0xFEEC);
  ASSERT_EQ(bus.ended.size(), 1U);
  EXPECT_EQ(bus.ended[0].end, TransportEnd::kComplete);
  EXPECT_TRUE(bus.ended[0].acknowledged);
  EXPECT_EQ(bus.ended[0].bytes, text);
  EXPECT_EQ(bus.ended[0].last_line, 8U);
}

TEST(Transport, AllHeardButNeverAcknowledgedIsCompleteAllTheSame) {
  Bus bus;
  bus.announce(0x00, 0xF9, 9, 0xFEEC);
  bus.packets(0x00, 0xF9, text_of(9), 1, 2);
  bus.finish();
  ASSERT_EQ(bus.ended.size(), 1U);
  EXPECT_EQ(bus.ended[0].end, TransportEnd::kComplete);
  EXPECT_FALSE(bus.ended[0].acknowledged);
}

TEST(Transport, MessagesMayGoOnSideBySide) {
  Bus bus;
  const Bytes a = text_of(14);
  const Bytes b = text_of(15);
  bus.announce(0x00, 0xFF, 14, 0xFECA);
  bus.announce(0x0B, 0xFF, 15, 0xFECB);
  bus.announce(0x00, 0x27, 14, 0xFEDA);
  bus.packet(0x0B, 0xFF, b, 1);
  bus.packet(0x00, 0xFF, a, 1);
  bus.packet(0x00, 0x27, a, 1);
  bus.packet(0x0B, 0xFF, b, 2);
  bus.packet(0x00, 0x27, a, 2);
  bus.packet(0x00, 0xFF, a, 2);
  bus.packet(0x0B, 0xFF, b, 3);
  bus.finish();
  ASSERT_EQ(bus.ended.size(), 3U);
  EXPECT_EQ(bus.ended[0].pgn, 0xFECAU);
  EXPECT_EQ(bus.ended[0].bytes, a);
  EXPECT_EQ(bus.ended[1].pgn, 0xFECBU);
  EXPECT_EQ(bus.ended[1].bytes, b);
  EXPECT_EQ(bus.ended[2].pgn, 0xFEDAU);
  EXPECT_EQ(bus.ended[2].bytes, a);
}

TEST(Transport, ChannelsDoNotMix) {
  Bus bus;
  bus.announce(0x00, 0xFF, 9, 0xFECA);
  Frame other = bus.frames().next(kData | 0xFF00, {1, 0, 0, 0, 0, 0, 0, 0});
  other.channel = 1;
  bus.take(other);
  EXPECT_EQ(bus.transport.counts().stray, 1U);
  bus.packets(0x00, 0xFF, text_of(9), 1, 2);
  EXPECT_EQ(bus.ended.size(), 1U);
}

TEST(Transport, ALostPacketIsAskedForAgain) {
  Bus bus;
  const Bytes text = text_of(28);
  bus.announce(0x00, 0xF9, 28, 0xFEEC);
  bus.control(0xF9, 0x00, {17, 4, 1}, 0xFEEC);
  for (const std::size_t number : {1U, 2U, 4U}) bus.packet(0x00, 0xF9, text, number);
  bus.control(0xF9, 0x00, {17, 2, 3}, 0xFEEC);
  bus.packets(0x00, 0xF9, text, 3, 4);
  bus.control(0xF9, 0x00, {19, 28, 0, 4}, 0xFEEC);
  ASSERT_EQ(bus.ended.size(), 1U);
  EXPECT_EQ(bus.ended[0].bytes, text);
  EXPECT_EQ(bus.ended[0].repeated, 1);
  EXPECT_EQ(bus.ended[0].out_of_order, 1);
}

TEST(Transport, ALostPacketOfABroadcastIsTold) {
  Bus bus;
  bus.announce(0x00, 0xFF, 28, 0xFECA);
  for (const std::size_t number : {1U, 2U, 4U}) bus.packet(0x00, 0xFF, text_of(28), number);
  bus.announce(0x00, 0xFF, 28, 0xFECA);
  ASSERT_EQ(bus.ended.size(), 1U);
  EXPECT_EQ(bus.ended[0].end, TransportEnd::kReplaced);
  EXPECT_EQ(bus.ended[0].received, 3);
  EXPECT_EQ(bus.ended[0].packets, 4);
  EXPECT_TRUE(bus.ended[0].bytes.empty());
}

TEST(Transport, AcknowledgedButNotHeardIsMissing) {
  Bus bus;
  bus.announce(0x00, 0xF9, 14, 0xFEEC);
  bus.packet(0x00, 0xF9, text_of(14), 2);
  bus.control(0xF9, 0x00, {19, 14, 0, 2}, 0xFEEC);
  ASSERT_EQ(bus.ended.size(), 1U);
  EXPECT_EQ(bus.ended[0].end, TransportEnd::kMissed);
  EXPECT_TRUE(bus.ended[0].acknowledged);
}

TEST(Transport, TheSameRequestAgainIsNoNewMessage) {
  Bus bus;
  bus.announce(0x00, 0xF9, 14, 0xFEEC);
  bus.announce(0x00, 0xF9, 14, 0xFEEC, 1200);
  bus.announce(0x00, 0xF9, 14, 0xFEEC, 1200);
  bus.finish();
  ASSERT_EQ(bus.ended.size(), 1U);
  EXPECT_EQ(bus.ended[0].announced_again, 2);
  EXPECT_EQ(bus.ended[0].end, TransportEnd::kCutShort);
  EXPECT_EQ(bus.transport.counts().announced, 1U);
}

TEST(Transport, EitherMayBreakOff) {
  for (const std::uint8_t by : {0x00, 0xF9}) {
    Bus bus;
    bus.announce(0x00, 0xF9, 14, 0xFEEC);
    const auto to = static_cast<std::uint8_t>(by == 0x00 ? 0xF9 : 0x00);
    bus.control(by, to, {255, 3}, 0xFEED);  // of another group: not meant
    EXPECT_TRUE(bus.ended.empty());
    EXPECT_EQ(bus.transport.counts().stray, 1U);
    bus.control(by, to, {255, 3}, 0xFEEC);
    ASSERT_EQ(bus.ended.size(), 1U);
    EXPECT_EQ(bus.ended[0].end, TransportEnd::kAborted);
    EXPECT_EQ(bus.ended[0].aborted_by, by);
    EXPECT_EQ(bus.ended[0].abort_reason, 3);
    EXPECT_EQ(bus.transport.counts().aborted, 1U);
  }
}

// T1, T2, T3, T4: just in time goes on, a millisecond later does not.
TEST(Transport, NobodyWaitsForEver) {
  const auto ends = [](const std::vector<TransportMessage>& ended) {
    return ended.size() == 1 && ended[0].end == TransportEnd::kTimedOut;
  };
  for (const int late : {0, 1}) {
    Bus broadcast;
    broadcast.announce(0x00, 0xFF, 14, 0xFECA);
    broadcast.packet(0x00, 0xFF, text_of(14), 1, 750 + late);
    EXPECT_EQ(ends(broadcast.ended), late == 1);

    Bus asked;  // nobody answers the request to send
    asked.announce(0x00, 0xF9, 14, 0xFEEC);
    asked.control(0xF9, 0x00, {17, 2, 1}, 0xFEEC, 1250 + late);
    EXPECT_EQ(ends(asked.ended), late == 1);

    Bus held;
    held.announce(0x00, 0xF9, 14, 0xFEEC);
    held.control(0xF9, 0x00, {17, 0, 1}, 0xFEEC);
    held.control(0xF9, 0x00, {17, 2, 1}, 0xFEEC, 1050 + late);
    EXPECT_EQ(ends(held.ended), late == 1);

    Bus let_go;
    let_go.announce(0x00, 0xF9, 21, 0xFEEC);
    let_go.control(0xF9, 0x00, {17, 2, 1}, 0xFEEC);
    let_go.packet(0x00, 0xF9, text_of(21), 1, 1250);
    let_go.packet(0x00, 0xF9, text_of(21), 2, 750 + late);
    EXPECT_EQ(ends(let_go.ended), late == 1);
    if (late == 1) continue;
    let_go.control(0xF9, 0x00, {17, 1, 3}, 0xFEEC, 1250);
    EXPECT_TRUE(let_go.ended.empty());
  }
}

TEST(Transport, QuietTimesAreToldByTheCaller) {
  Bus bus;
  bus.announce(0x00, 0xFF, 14, 0xFECA);
  bus.transport.expire(bus.frames().now_us() + 750'000, bus.ended);
  EXPECT_TRUE(bus.ended.empty());
  bus.transport.expire(bus.frames().now_us() + 750'001, bus.ended);
  EXPECT_EQ(bus.ended.size(), 1U);
}

TEST(Transport, WithoutTimesNothingTimesOut) {
  Bus bus;
  bus.announce(0x00, 0xFF, 14, 0xFECA, 0);
  bus.packet(0x00, 0xFF, text_of(14), 1, 0);
  bus.packet(0x00, 0xFF, text_of(14), 2, 0);
  EXPECT_EQ(bus.ended.at(0).end, TransportEnd::kComplete);
}

TEST(Transport, NonsenseIsPassedOver) {
  Bus bus;
  bus.control(0x00, 0xFF, {16, 9, 0, 2}, 0);       // a request to everyone
  bus.packet(0x00, 0xFF, text_of(9), 1);           // of no message
  bus.control(0x00, 0xFF, {32, 0, 0, 0}, 1);       // nothing
  bus.control(0x00, 0xFF, {32, 15, 0, 2}, 1);      // more than its packets hold
  bus.control(0x00, 0xFF, {99}, 1);                // no such control byte
  bus.take(bus.frames().next(kControl, {16, 9}));  // too short
  EXPECT_EQ(bus.ended.size(), 3U);
  for (const TransportMessage& message : bus.ended) EXPECT_EQ(message.end, TransportEnd::kMalformed);
  EXPECT_EQ(bus.transport.counts().stray, 1U);
  EXPECT_EQ(bus.transport.counts().odd, 2U);
}

TEST(Transport, PacketsOutOfRangeOrTooShortAreOdd) {
  Bus bus;
  bus.announce(0x00, 0xFF, 9, 0xFECA);
  bus.packet(0x00, 0xFF, text_of(30), 3);
  bus.take(bus.frames().next(kData | 0xFF00, {0, 1, 2, 3, 4, 5, 6, 7}));
  bus.take(bus.frames().next(kData | 0xFF00, {1, 2, 3}));
  bus.take(bus.frames().next(kData | 0xFF00, {}));
  EXPECT_EQ(bus.transport.counts().odd, 4U);
  bus.take(bus.frames().next(kData | 0xFF00, {1, 1, 2, 3, 4, 5, 6, 7}));
  bus.take(bus.frames().next(kData | 0xFF00, {2, 8, 9}));  // the last one need not be filled up
  ASSERT_EQ(bus.ended.size(), 1U);
  EXPECT_EQ(bus.ended[0].bytes, (Bytes{1, 2, 3, 4, 5, 6, 7, 8, 9}));
}

TEST(Transport, OtherFramesDoNotConcernIt) {
  Bus bus;
  bus.take(bus.frames().next(0x7EC, {32, 9, 0, 2, 0xFF, 0xCA, 0xFE, 0}));
  bus.take(bus.frames().next(0x1AECFF00, {32, 9, 0, 2, 0xFF, 0xCA, 0xFE, 0}));  // another page
  bus.take(bus.frames().next(0x18FECA00, {0, 0xFF, 0, 0, 0, 0, 0xFF, 0xFF}));
  Frame remote = bus.frames().next(kControl | 0xFF00, {32, 9, 0, 2, 0xFF, 0xCA, 0xFE, 0});
  remote.kind = FrameKind::kRemote;
  bus.take(remote);
  bus.finish();
  EXPECT_TRUE(bus.ended.empty());
  EXPECT_EQ(bus.transport.counts().odd + bus.transport.counts().stray, 0U);
}

TEST(Transport, TheOldestMakesRoom) {
  Bus bus;
  for (unsigned k = 0; k < kMostTransports + 2; ++k) {
    bus.announce(static_cast<std::uint8_t>(k % 128), static_cast<std::uint8_t>(128 + k / 128), 9, 0xFEEC, 0);
  }
  ASSERT_EQ(bus.ended.size(), 2U);
  EXPECT_EQ(bus.ended[0].end, TransportEnd::kCrowdedOut);
  EXPECT_EQ(bus.ended[0].source, 0);
  EXPECT_EQ(bus.ended[1].source, 1);
}

TEST(Transport, TheLongestMessage) {
  Bus bus;
  const Bytes text = text_of(kLongestTransport);
  bus.announce(0x00, 0xFF, text.size(), 0xFECA);
  bus.packets(0x00, 0xFF, text, 1, 255);
  ASSERT_EQ(bus.ended.size(), 1U);
  EXPECT_EQ(bus.ended[0].bytes, text);
}

// Many messages between many pairs at once, each packet now and then twice or late: all arrive, each once, unchanged.
TEST(Transport, AnyMixtureOfPacketsComesApartAgain) {
  struct Under {
    Bytes text;
    std::vector<std::size_t> to_send;
  };
  base::Rng rng(21);
  for (int round = 0; round < 60; ++round) {
    SCOPED_TRACE(round);
    Bus bus;
    std::map<std::pair<std::uint8_t, std::uint8_t>, Under> under;
    for (std::uint64_t k = 1 + rng.below(12); k > 0; --k) {
      const auto from = static_cast<std::uint8_t>(rng.below(40));
      const auto to = static_cast<std::uint8_t>(rng.chance(0.5) ? 0xFF : 40 + rng.below(40));
      Under& one = under[{from, to}];
      if (!one.text.empty()) continue;
      one.text = text_of(9 + rng.below(200));
      bus.announce(from, to, one.text.size(), 0xFEC0 + from, 0);
      for (std::size_t number = 1; number <= (one.text.size() + 6) / 7; ++number) {
        one.to_send.push_back(number);
        if (to != 0xFF && rng.chance(0.2)) one.to_send.push_back(number);
      }
      for (int swaps = 0; swaps < 3; ++swaps) {
        std::swap(one.to_send[rng.below(one.to_send.size())], one.to_send[rng.below(one.to_send.size())]);
      }
    }
    const std::size_t expected = under.size();
    std::map<std::pair<std::uint8_t, std::uint8_t>, Bytes> texts;
    for (const auto& [pair, one] : under) texts[pair] = one.text;
    while (!under.empty()) {
      auto at = under.begin();
      std::advance(at, rng.below(under.size()));
      bus.packet(at->first.first, at->first.second, at->second.text, at->second.to_send.back(), 0);
      at->second.to_send.pop_back();
      if (at->second.to_send.empty()) under.erase(at);
    }
    bus.finish();
    ASSERT_EQ(bus.ended.size(), expected);
    for (const TransportMessage& message : bus.ended) {
      EXPECT_EQ(message.end, TransportEnd::kComplete);
      EXPECT_EQ(message.bytes, (texts[{message.source, message.destination}]));
    }
  }
}

// Random frames: what is announced ends exactly once, and every end is one of those that are counted.
TEST(Transport, TheBooksBalance) {
  base::Rng rng(5);
  for (int round = 0; round < 200; ++round) {
    Bus bus;
    for (int k = 0; k < 200; ++k) {
      const std::uint32_t id = (rng.chance(0.5) ? kControl : kData) | static_cast<std::uint32_t>(rng.below(4)) << 8 |
                               static_cast<std::uint32_t>(rng.below(4));
      static constexpr std::uint8_t kFirst[] = {16, 17, 19, 32, 255, 1, 2, 3, 0};
      Bytes bytes(8, 0);
      bytes[0] = kFirst[rng.below(9)];
      bytes[1] = static_cast<std::uint8_t>(rng.below(22));
      bytes[3] = static_cast<std::uint8_t>(rng.below(5));
      bytes[5] = static_cast<std::uint8_t>(rng.below(2));
      bus.take(bus.frames().next(id, bytes, static_cast<std::int64_t>(rng.below(300))));
    }
    bus.finish();
    const TransportCounts& counts = bus.transport.counts();
    ASSERT_EQ(counts.announced, counts.complete + counts.aborted + counts.unfinished);
    ASSERT_EQ(counts.announced, bus.ended.size());
    for (const TransportMessage& message : bus.ended) {
      ASSERT_EQ(message.bytes.size(), message.end == TransportEnd::kComplete ? message.size : 0U);
      ASSERT_LE(message.first_line, message.last_line);
    }
  }
}

TEST(Transport, EveryEndAndReasonHasItsWords) {
  for (int end = 0; end <= static_cast<int>(TransportEnd::kCrowdedOut); ++end) {
    EXPECT_FALSE(transport_end_word(static_cast<TransportEnd>(end)).empty());
  }
  EXPECT_NE(abort_reason_word(3), abort_reason_word(200));
}

}  // namespace
}  // namespace halfsplit::can
