// SPDX-License-Identifier: Apache-2.0
#include "can/iso_tp.h"

#include <gtest/gtest.h>

#include "base/rng.h"
#include "can/test_frames.h"

namespace halfsplit::can {
namespace {

using Bytes = std::vector<std::uint8_t>;

Bytes payload(std::size_t size) {
  Bytes bytes;
  for (std::size_t k = 0; k < size; ++k) bytes.push_back(static_cast<std::uint8_t>(k * 5 + 1));
  return bytes;
}

// The frames of one message, written as the standard says; `address` before each control byte if there is one.
std::vector<Bytes> frames_of(const Bytes& text, std::optional<std::uint8_t> address = {}, std::size_t room = 8) {
  const Bytes head = address ? Bytes{*address} : Bytes{};
  const auto with = [&](Bytes control, std::size_t from, std::size_t count) {
    Bytes bytes = head;
    bytes.insert(bytes.end(), control.begin(), control.end());
    const auto begin = text.begin() + static_cast<std::ptrdiff_t>(from);
    bytes.insert(bytes.end(), begin, begin + static_cast<std::ptrdiff_t>(std::min(count, text.size() - from)));
    bytes.resize(room, 0xAA);
    return bytes;
  };
  const auto size = static_cast<std::uint8_t>(text.size());
  if (text.size() < 8 - head.size()) return {with({size}, 0, text.size())};
  const std::size_t first = room - head.size() - 2;
  std::vector<Bytes> frames = {
      with({static_cast<std::uint8_t>(0x10 | text.size() >> 8), static_cast<std::uint8_t>(text.size())}, 0, first)};
  const std::size_t each = room - head.size() - 1;
  unsigned number = 1;
  for (std::size_t at = first; at < text.size(); at += each, ++number) {
    frames.push_back(with({static_cast<std::uint8_t>(0x20 | (number & 15))}, at, each));
  }
  return frames;
}

class Tap {
 public:
  explicit Tap(std::vector<IsoTpPair> pairs = {}) : iso_tp(std::move(pairs)) {}
  void hear(std::uint32_t id, const Bytes& bytes, std::int64_t after_ms = 1) {
    iso_tp.take(frames.next(id, bytes, after_ms), ended);
  }
  void hear(std::uint32_t id, const std::vector<Bytes>& all) {
    for (const Bytes& bytes : all) hear(id, bytes);
  }
  TestFrames frames;
  IsoTp iso_tp;
  std::vector<IsoTpMessage> ended;
};

TEST(IsoTp, ASingleFrameIsAMessage) {
  Tap tap;
  tap.hear(0x18DA00F1, {0x03, 0x19, 0x02, 0xFF, 0, 0, 0, 0});
  ASSERT_EQ(tap.ended.size(), 1U);
  EXPECT_EQ(tap.ended[0].bytes, (Bytes{0x19, 0x02, 0xFF}));
  EXPECT_EQ(tap.ended[0].source, 0xF1);
  EXPECT_EQ(tap.ended[0].target, 0x00);
  EXPECT_TRUE(tap.ended[0].extended);
  EXPECT_FALSE(tap.ended[0].to_many);
}

TEST(IsoTp, ALongMessageIsPutTogether) {
  Tap tap;
  const Bytes text = payload(200);
  const std::vector<Bytes> frames = frames_of(text);
  tap.hear(0x18DAF100, frames.front());
  tap.hear(0x18DA00F1, {0x30, 0, 0});
  tap.hear(0x18DAF100, std::vector<Bytes>(frames.begin() + 1, frames.end()));
  ASSERT_EQ(tap.ended.size(), 1U);
  EXPECT_EQ(tap.ended[0].end, IsoTpEnd::kComplete);
  EXPECT_EQ(tap.ended[0].bytes, text);
  EXPECT_EQ(tap.ended[0].size, 200U);
  EXPECT_EQ(tap.ended[0].first_line, 1U);
  EXPECT_EQ(tap.ended[0].last_line, frames.size() + 1);
  EXPECT_EQ(tap.iso_tp.counts().stray, 0U);
}

TEST(IsoTp, ElevenBitsOfLegislatedDiagnosis) {
  Tap tap;
  tap.hear(0x7DF, {0x01, 0x03, 0, 0, 0, 0, 0, 0});
  tap.hear(0x7E8, {0x02, 0x43, 0x00, 0, 0, 0, 0, 0});
  tap.hear(0x7E1, {0x01, 0x03, 0, 0, 0, 0, 0, 0});
  ASSERT_EQ(tap.ended.size(), 3U);
  EXPECT_TRUE(tap.ended[0].to_many);
  EXPECT_EQ(tap.ended[0].target, 0xFF);
  EXPECT_EQ(tap.ended[1].source, 0);
  EXPECT_EQ(tap.ended[1].target, 0xF1);
  EXPECT_EQ(tap.ended[2].source, 0xF1);
  EXPECT_EQ(tap.ended[2].target, 1);
  tap.hear(0x18DBFFF1, {0x01, 0x03, 0, 0, 0, 0, 0, 0});
  EXPECT_TRUE(tap.ended[3].to_many);
}

TEST(IsoTp, OtherFramesDoNotConcernIt) {
  Tap tap;
  for (const std::uint32_t id : {0x123U, 0x7D0U, 0x7F0U, 0x18FEF100U, 0x18DCF100U, 0x19DAF100U})
    tap.hear(id, {0x01, 0x03});
  EXPECT_EQ(tap.iso_tp.counts().frames, 0U);
  EXPECT_TRUE(tap.ended.empty());
}

TEST(IsoTp, PairsNamedByTheCaller) {
  const Bytes text = payload(30);
  Tap plain({{0x700, 0x708, false, false}});
  plain.hear(0x708, frames_of(text));
  EXPECT_EQ(plain.ended.at(0).bytes, text);
  Tap with_address({{0x6F1, 0x612, false, true}});
  with_address.hear(0x612, frames_of(text, 0xF1));
  with_address.hear(0x6F1, {0x12, 0x02, 0x3E, 0x00});
  ASSERT_EQ(with_address.ended.size(), 2U);
  EXPECT_EQ(with_address.ended[0].bytes, text);
  EXPECT_EQ(with_address.ended[1].bytes, (Bytes{0x3E, 0x00}));
  with_address.hear(0x6F1, Bytes{0x12});
  EXPECT_EQ(with_address.iso_tp.counts().odd, 1U);
}

TEST(IsoTp, LongFramesOfCanFd) {
  Tap tap;
  Bytes single = {0x00, 20};
  const Bytes text = payload(20);
  single.insert(single.end(), text.begin(), text.end());
  tap.hear(0x7E8, single);
  EXPECT_EQ(tap.ended.at(0).bytes, text);
  const Bytes longer = payload(300);
  tap.hear(0x7E8, frames_of(longer, {}, 64));
  EXPECT_EQ(tap.ended.at(1).bytes, longer);
  // A size of more than twelve bits stands in four bytes.
  const Bytes huge = payload(5000);
  std::vector<Bytes> frames = frames_of(huge);
  frames.front() = {0x10, 0, 0, 0, 0x13, 0x88, huge[0], huge[1]};
  std::size_t at = 2;
  for (std::size_t k = 1; at < huge.size(); ++k) {
    Bytes next = {static_cast<std::uint8_t>(0x20 | (k & 15))};
    for (int byte = 0; byte < 7 && at < huge.size(); ++byte) next.push_back(huge[at++]);
    if (k < frames.size()) {
      frames[k] = next;
    } else {
      frames.push_back(next);
    }
  }
  tap.hear(0x7E8, frames);
  EXPECT_EQ(tap.ended.at(2).bytes, huge);
}

TEST(IsoTp, AMissingFrameEndsTheMessage) {
  Tap tap;
  std::vector<Bytes> frames = frames_of(payload(60));
  frames.erase(frames.begin() + 3);
  tap.hear(0x7E8, frames);
  ASSERT_EQ(tap.ended.size(), 1U);
  EXPECT_EQ(tap.ended[0].end, IsoTpEnd::kLost);
  EXPECT_EQ(tap.ended[0].received, 6U + 2 * 7);
  EXPECT_EQ(tap.iso_tp.counts().stray, frames.size() - 4);
}

TEST(IsoTp, OtherEnds) {
  const std::vector<Bytes> frames = frames_of(payload(60));
  Tap replaced;
  replaced.hear(0x7E8, frames.front());
  replaced.hear(0x7E8, Bytes{0x03, 0x7F, 0x19, 0x78});
  ASSERT_EQ(replaced.ended.size(), 2U);
  EXPECT_EQ(replaced.ended[0].end, IsoTpEnd::kReplaced);

  Tap refused;
  refused.hear(0x7E8, frames.front());
  refused.hear(0x7E0, Bytes{0x31, 0, 0});
  EXPECT_TRUE(refused.ended.empty());
  refused.hear(0x7E0, Bytes{0x32, 0, 0});
  EXPECT_EQ(refused.ended.at(0).end, IsoTpEnd::kRefused);

  Tap late;
  late.hear(0x7E8, frames[0]);
  late.hear(0x7E8, frames[1], 1000);
  EXPECT_TRUE(late.ended.empty());
  late.hear(0x7E8, frames[2], 1001);
  EXPECT_EQ(late.ended.at(0).end, IsoTpEnd::kTimedOut);

  Tap cut;
  cut.hear(0x7E8, frames[0]);
  cut.iso_tp.finish(cut.ended);
  EXPECT_EQ(cut.ended.at(0).end, IsoTpEnd::kCutShort);

  Tap crowded;
  for (unsigned k = 0; k <= kMostIsoTp; ++k) crowded.hear(0x18DA0000 | k % 200 << 8U | k / 200, frames[0], 0);
  EXPECT_EQ(crowded.ended.at(0).end, IsoTpEnd::kCrowdedOut);
}

TEST(IsoTp, NonsenseIsPassedOver) {
  Tap tap;
  tap.hear(0x7E8, Bytes{});
  tap.hear(0x7E8, Bytes{0x00});
  tap.hear(0x7E8, Bytes{0x05, 1, 2});
  tap.hear(0x7E8, Bytes{0x10});
  tap.hear(0x7E8, Bytes{0x10, 0x06, 1, 2, 3, 4, 5, 6});  // would have fitted
  tap.hear(0x7E8, Bytes{0x10, 0, 0xFF, 0xFF, 0xFF, 0xFF, 0, 0});
  tap.hear(0x7E8, Bytes{0x35, 0, 0});
  tap.hear(0x7E8, Bytes{0x40});
  EXPECT_EQ(tap.iso_tp.counts().odd, 8U);
  tap.hear(0x7E8, Bytes{0x21, 0, 0});
  tap.hear(0x7E8, Bytes{0x30, 0, 0});
  EXPECT_EQ(tap.iso_tp.counts().stray, 2U);
  EXPECT_TRUE(tap.ended.empty());
}

TEST(IsoTp, AnyMixtureComesApartAgain) {
  base::Rng rng(15765);
  for (int round = 0; round < 100; ++round) {
    SCOPED_TRACE(round);
    Tap tap;
    std::vector<Bytes> texts;
    std::vector<std::vector<Bytes>> all;
    for (std::uint64_t k = 1 + rng.below(6); k > 0; --k) {
      texts.push_back(payload(1 + rng.below(300)));
      all.push_back(frames_of(texts.back()));
    }
    std::vector<std::size_t> next(all.size(), 0);
    for (std::size_t left = all.size(); left > 0;) {
      const std::size_t k = rng.below(all.size());
      if (next[k] == all[k].size()) continue;
      tap.hear(static_cast<std::uint32_t>(0x18DAF100 + k), all[k][next[k]++], 0);
      if (next[k] == all[k].size()) --left;
    }
    ASSERT_EQ(tap.ended.size(), all.size());
    for (const IsoTpMessage& message : tap.ended) EXPECT_EQ(message.bytes, texts[message.source]);
  }
}

TEST(IsoTp, EveryEndHasAWord) {
  for (int end = 0; end <= static_cast<int>(IsoTpEnd::kCrowdedOut); ++end) {
    EXPECT_FALSE(iso_tp_end_word(static_cast<IsoTpEnd>(end)).empty());
  }
}

}  // namespace
}  // namespace halfsplit::can
