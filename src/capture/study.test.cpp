// SPDX-License-Identifier: Apache-2.0
#include "capture/study.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "capture/error_frames.h"
#include "capture/findings_text.h"
#include "capture/made_traffic.h"

namespace halfsplit::capture {
namespace {

Findings study(const std::vector<can::Frame>& frames, double bit_rate = 0.0) {
  Study study({bit_rate});
  study.take(frames);
  return study.findings();
}

std::vector<can::Frame> numbered(std::vector<can::Frame> frames) {
  std::uint64_t line = 0;
  for (can::Frame& frame : frames) frame.line = ++line;
  return frames;
}

TEST(Study, NothingAtAll) {
  const Findings f = study({});
  EXPECT_EQ(f.frames, 0U);
  EXPECT_FALSE(f.timed);
  EXPECT_TRUE(f.senders.empty());
}

TEST(Study, RosterByAddressWithPeriodAndSpread) {
  MadeTraffic made(3);
  made.cyclic({made_id(61444, 0), 20'000, 0.02}, 20'000'000);
  made.cyclic({made_id(65262, 0), 1'000'000, 0.01}, 20'000'000);
  made.cyclic({made_id(61441, 11), 100'000, 0.05}, 20'000'000);
  made.cyclic({0x123, 50'000, 0.0, false}, 20'000'000);
  const Findings f = study(made.frames());
  ASSERT_EQ(f.senders.size(), 3U);
  EXPECT_EQ(f.senders[0].key, (SenderKey{0, false, 0x123}));
  EXPECT_EQ(f.senders[1].key, (SenderKey{0, true, 0}));
  EXPECT_EQ(f.senders[1].messages.size(), 2U);
  EXPECT_NEAR(f.senders[1].fastest_us, 20'000, 200);
  EXPECT_NEAR(static_cast<double>(f.senders[1].quiet_us), 100'000, 1'000);
  const Message& brakes = f.senders[2].messages.front();
  EXPECT_EQ(brakes.pgn, 61441U);
  EXPECT_TRUE(brakes.rhythm.cyclic);
  // Two due times with 5 % of jitter each: 1.645 * sqrt(2) * 5 ms to either side.
  EXPECT_NEAR(brakes.rhythm.p95_us - brakes.rhythm.p5_us, 23'260, 5'000);
  EXPECT_NEAR(f.senders[2].quiet_us, 500'000, 5'000);
  EXPECT_TRUE(f.events.empty());
}

TEST(Study, OnePriorityOrAnotherIsOneMessageAndDestinationsAreTwo) {
  const Findings f = study(
      numbered({made_frame(0, 0x18EF0B00, {1}), made_frame(10, 0x0CEF0B00, {1}), made_frame(20, 0x18EF0C00, {1})}));
  ASSERT_EQ(f.senders.size(), 1U);
  ASSERT_EQ(f.senders[0].messages.size(), 2U);
  EXPECT_EQ(f.senders[0].messages[0].destination, 0x0B);
  EXPECT_EQ(f.senders[0].messages[0].frames, 2U);
  EXPECT_EQ(f.senders[0].messages[1].destination, 0x0C);
}

TEST(Study, AddressClaimedByTwo) {
  const auto claim = [](std::int64_t at, int low) {
    return made_frame(at, made_id(60928, 0x27), {low, 0, 0, 0, 0, 0, 0, 0x80});
  };
  const Findings f = study(numbered({claim(0, 7), claim(1000, 5), claim(2000, 7), claim(3000, 5),
                                     made_frame(4000, made_id(60928, 254), {9, 0, 0, 0, 0, 0, 0, 0x80})}));
  ASSERT_EQ(f.conflicts.size(), 1U);
  EXPECT_TRUE(f.conflicts[0].contested);
  EXPECT_EQ(f.conflicts[0].winner, 0x8000000000000005U);
  ASSERT_EQ(f.conflicts[0].claims.size(), 2U);
  EXPECT_EQ(f.conflicts[0].claims[0].last.line, 3U);
  ASSERT_EQ(f.cannot_claim.size(), 1U);
  EXPECT_EQ(f.cannot_claim[0].claim.name, 0x8000000000000009U);
  // The address passed on, never fought over.
  EXPECT_FALSE(study(numbered({claim(0, 7), claim(9000, 5)})).conflicts.at(0).contested);
}

// Group 0 is one like others; a frame with an 11-bit identifier is of no group.
TEST(Study, AnElevenBitFrameAnswersNoRequest) {
  std::vector<can::Frame> frames = {
      made_frame(0, made_id(65242, 3), {0}),
      made_frame(1'000, made_id(59904, 0x0B, 3), {0, 0, 0}),
      made_frame(2'000, 0x003, {1, 2}, 0, false),
      made_frame(3'000'000, made_id(65242, 3), {0}),
  };
  EXPECT_EQ(study(numbered(frames)).requests.at(0).unanswered, 1U);
  frames[2] = made_frame(2'000, made_id(0, 3, 0x0B), {1, 2});
  EXPECT_EQ(study(numbered(frames)).requests.at(0).answered, 1U);
}

TEST(Study, RequestsAndWhoAnswers) {
  std::vector<can::Frame> frames = {
      made_frame(0, made_id(65242, 3), {0}),
      made_frame(0, made_id(59904, 0x0B, 255), {0xE5, 0xFE, 0}),           // 65253, of everyone
      made_frame(200'000, made_id(65253, 0), {1, 2, 3, 4, 5, 6, 7, 8}),    // in time
      made_frame(400'000, made_id(59904, 0x0B, 3), {0xEC, 0xFE, 0}),       // 65260, of 3, who is there
      made_frame(1'300'000, made_id(65253, 5), {1, 2, 3, 4, 5, 6, 7, 8}),  // too late
      made_frame(1'700'000, made_id(59904, 0x0B, 3), {0xEB, 0xFE, 0}),     // 65259: refused
      made_frame(1'800'000, made_id(59392, 3, 255), {1, 255, 255, 255, 0x0B, 0xEB, 0xFE, 0}),
      made_frame(4'000'000, made_id(65242, 3), {0}),
      made_frame(4'100'000, made_id(59904, 0x0B, 3), {0xEC, 0xFE, 0}),  // not yet due at the end
  };
  const Findings f = study(numbered(frames));
  ASSERT_EQ(f.requests.size(), 3U);
  EXPECT_EQ(f.requests[0].answered, 1U);
  EXPECT_EQ(f.requests[0].answered_by, std::vector<std::uint8_t>{0});
  EXPECT_TRUE(f.requests[0].not_answered_by.empty());
  EXPECT_EQ(f.requests[1].times, 2U);
  EXPECT_EQ(f.requests[1].unanswered, 1U);
  EXPECT_EQ(f.requests[1].first_unanswered.line, 4U);
  EXPECT_EQ(f.requests[1].not_answered_by, std::vector<std::uint8_t>{3});
  EXPECT_EQ(f.requests[2].refused, 1U);
  ASSERT_EQ(f.acknowledgements.size(), 1U);
  EXPECT_EQ(f.acknowledgements[0].to, 0x0B);
}

TEST(Study, CodesComeAndGo) {
  const auto dm1 = [](std::int64_t at, int spn, int lamps) {
    return made_frame(at, made_id(65226, 0x31), {lamps, 255, spn, 0, spn == 0 ? 0 : 3, spn == 0 ? 0 : 2, 255, 255});
  };
  const Findings f = study(numbered({dm1(0, 0, 0), dm1(1, 168, 4), dm1(2, 168, 4), dm1(3, 0, 0), dm1(4, 168, 4)}));
  ASSERT_EQ(f.codes.size(), 1U);
  EXPECT_EQ(f.codes[0].code.spn, 168U);
  EXPECT_EQ(f.codes[0].code.fmi, 3);
  EXPECT_EQ(f.codes[0].times, 3U);
  EXPECT_EQ(f.codes[0].came, 2U);
  EXPECT_EQ(f.codes[0].went, 1U);
  EXPECT_EQ(f.codes[0].first.line, 2U);
  EXPECT_EQ(f.codes[0].last.line, 5U);
  EXPECT_TRUE(f.codes[0].at_the_end);
  ASSERT_EQ(f.lamps.size(), 1U);
  EXPECT_EQ(f.lamps[0].lit, (std::array<std::uint64_t, 4>{0, 0, 3, 0}));
  EXPECT_EQ(f.lamps[0].first_lit[2].line, 2U);
}

// Reports drawn from a few, so that the same come again and again; counted anew from the list of them.
TEST(Study, CodesThatComeAndGoAreCountedReportByReport) {
  base::Rng rng(8);
  const std::vector<std::vector<int>> kinds = {{}, {168}, {91}, {168, 91}, {91, 168}, {91, 91}};
  std::vector<can::Frame> frames;
  std::vector<std::vector<int>> told;
  for (int i = 0; i < 500; ++i) {
    told.push_back(rng.chance(0.7) && i > 0 ? told.back() : kinds[rng.below(kinds.size())]);
    std::vector<int> data = {told.back().empty() ? 0 : 4, 255};
    for (const int spn : told.back()) data.insert(data.end(), {spn, 0, 3, 2});
    can::Frame frame = made_frame(i, made_id(65226, 0x31), {});
    frame.flexible = true;  // two codes fit
    for (const int byte : data) frame.data[frame.length++] = static_cast<std::uint8_t>(byte);
    while (frame.length < 12) frame.data[frame.length++] = 0;
    frames.push_back(frame);
  }
  const Findings f = study(numbered(frames));
  ASSERT_EQ(f.codes.size(), 2U);
  for (const SeenCode& code : f.codes) {
    std::uint64_t times = 0, came = 0, went = 0, last = 0;
    for (std::size_t i = 0; i < told.size(); ++i) {
      const auto in = [&](std::size_t r) {
        return std::find(told[r].begin(), told[r].end(), static_cast<int>(code.code.spn)) != told[r].end();
      };
      times += in(i) ? 1 : 0;
      came += i > 0 && in(i) && !in(i - 1) ? 1 : 0;
      went += i > 0 && !in(i) && in(i - 1) ? 1 : 0;
      if (in(i)) last = i + 1;
    }
    EXPECT_EQ(code.times, times);
    EXPECT_EQ(code.came, came);
    EXPECT_EQ(code.went, went);
    EXPECT_EQ(code.last.line, last);
    EXPECT_EQ(code.at_the_end, last == told.size());
  }
  EXPECT_EQ(f.lamps.at(0).messages, told.size());
  const auto with_codes = std::count_if(told.begin(), told.end(), [](const auto& t) { return !t.empty(); });
  EXPECT_EQ(f.lamps.at(0).with_codes, static_cast<std::uint64_t>(with_codes));
  EXPECT_EQ(f.lamps.at(0).lit[2], static_cast<std::uint64_t>(with_codes));
}

TEST(Study, CodesOfALongMessage) {
  const std::uint32_t control = made_id(60416, 0x31, 255);
  const std::uint32_t data = made_id(60160, 0x31, 255);
  const Findings f = study(numbered({made_frame(0, control, {32, 10, 0, 2, 255, 0xCA, 0xFE, 0}),
                                     made_frame(50'000, data, {1, 4, 255, 168, 0, 4, 2, 91}),
                                     made_frame(100'000, data, {2, 0, 3, 1, 255, 255, 255, 255}),
                                     made_frame(200'000, control, {32, 10, 0, 2, 255, 0xCA, 0xFE, 0})}));
  ASSERT_EQ(f.codes.size(), 2U);
  EXPECT_EQ(f.codes[0].code.spn, 168U);
  EXPECT_EQ(f.codes[1].code.spn, 91U);
  EXPECT_EQ(f.codes[1].last.line, 3U);
  ASSERT_EQ(f.long_messages.size(), 1U);
  EXPECT_EQ(f.long_messages[0].begun, 2U);
  EXPECT_EQ(f.long_messages[0].complete, 1U);
  EXPECT_EQ(f.long_messages[0].incomplete, 1U);
  EXPECT_EQ(f.long_messages[0].first_failed.line, 4U);
}

// Given up at the end of the recording, which other frames went on to.
TEST(Study, ALongMessageUnderWayAtTheEndWasLastHeardWhenItWas) {
  const Findings f = study(numbered({made_frame(0, made_id(65242, 3), {0}),
                                     made_frame(100'000, made_id(60416, 0x31, 255), {32, 10, 0, 2, 255, 0xCA, 0xFE, 0}),
                                     made_frame(200'000, made_id(60160, 0x31, 255), {1, 4, 255, 168, 0, 4, 2, 91}),
                                     made_frame(700'000, made_id(65242, 3), {0})}));
  ASSERT_EQ(f.long_messages.size(), 1U);
  EXPECT_EQ(f.long_messages[0].incomplete, 1U);
  EXPECT_EQ(f.long_messages[0].first.at_us, 100'000);
  EXPECT_EQ(f.long_messages[0].last.at_us, 200'000);
}

TEST(Study, LoadAgainstTheBitRate) {
  // 8 bytes, 29 bits: 131 bits without stuffing, 160 at most; 500 of them in a second.
  MadeTraffic made(5);
  made.cyclic({made_id(61444, 0), 2'000}, 10'000'000);
  const Findings f = study(made.frames(), 500'000.0);
  ASSERT_EQ(f.load.size(), 1U);
  EXPECT_EQ(f.load[0].frames, 5000U);
  EXPECT_EQ(f.load[0].bits_least, 5000U * 131);
  EXPECT_EQ(f.load[0].bits_most, 5000U * 160);
  EXPECT_NEAR(static_cast<double>(f.load[0].peak_bits), 50 * 160, 160);
  EXPECT_FALSE(f.load[0].guessed);
  EXPECT_EQ(f.slot_us, 100'000);
  ASSERT_EQ(f.load[0].slots.size(), 100U);
  ASSERT_EQ(f.senders[0].rate.size(), 100U);
  for (std::size_t s = 0; s < 100; ++s) {
    EXPECT_NEAR(static_cast<double>(f.load[0].slots[s].bits), 50 * 160, 160);
    EXPECT_NEAR(f.senders[0].rate[s], 50, 1);
  }
}

TEST(Study, BitRateIsGuessedFromTheBusiestTenth) {
  MadeTraffic slow(5);
  slow.cyclic({made_id(61444, 0), 1'000}, 3'000'000);
  EXPECT_EQ(study(slow.frames()).load[0].bit_rate, 250'000.0);
  MadeTraffic fast(5);
  fast.cyclic({made_id(61444, 0), 500}, 3'000'000);  // 262 kbit/s
  EXPECT_EQ(study(fast.frames()).load[0].bit_rate, 500'000.0);
}

TEST(Study, SlotsGrowWithTheRecordingAndLoseNothing) {
  MadeTraffic made(5);
  made.cyclic({made_id(61444, 0), 1'000'000}, 3'000'000'000);
  const Findings f = study(made.frames());
  EXPECT_EQ(f.slot_us, 6'400'000);
  EXPECT_LE(f.load[0].slots.size(), 512U);
  std::uint64_t bits = 0;
  std::uint64_t frames = 0;
  for (const LoadSlot& slot : f.load[0].slots) bits += slot.bits;
  for (const std::uint32_t rate : f.senders[0].rate) frames += rate;
  EXPECT_EQ(bits, f.load[0].bits_most);
  EXPECT_EQ(frames, f.frames);
  for (std::size_t s = 0; s + 1 < f.senders[0].rate.size(); ++s) EXPECT_NEAR(f.senders[0].rate[s], 6.4, 0.6);
}

TEST(Study, ErrorFramesInBurstsByClass) {
  std::vector<can::Frame> frames;
  for (const std::int64_t at : {0, 10'000, 20'000, 900'000}) {
    frames.push_back(made_frame(at, at == 900'000 ? 0x40 : 0x20, {0}));
    frames.back().kind = can::FrameKind::kError;
  }
  const Findings f = study(numbered(frames));
  EXPECT_EQ(f.errors.frames, 4U);
  EXPECT_EQ(f.errors.by_class[5], 3U);
  EXPECT_EQ(error_class_name(5), "no acknowledgement");
  EXPECT_EQ(f.errors.by_class[6], 1U);
  ASSERT_EQ(f.errors.bursts.size(), 2U);
  EXPECT_EQ(f.errors.bursts[0].last.line, 3U);
  EXPECT_TRUE(f.errors.nothing_else);
  EXPECT_TRUE(f.senders.empty());
}

TEST(Study, TheClockWasSet) {
  std::vector<can::Frame> frames;
  for (int i = 0; i < 100; ++i)
    frames.push_back(made_frame(i * 10'000 - (i >= 50 ? 3'600'000'000 : 0), made_id(61444, 0), {1}));
  const Findings f = study(numbered(frames));
  ASSERT_EQ(f.jumps.size(), 1U);
  EXPECT_EQ(f.jumps[0].line, 51U);
  EXPECT_EQ(f.jumps[0].by_us, -3'600'000'000 + 10'000);
  EXPECT_EQ(f.duration_us, 980'000);
  EXPECT_TRUE(f.events.empty());
}

TEST(Study, WithoutTimesNothingIsSaidOfSilences) {
  std::vector<can::Frame> frames(100, made_frame(0, made_id(61444, 0), {1}));
  const Findings f = study(numbered(frames));
  EXPECT_FALSE(f.timed);
  EXPECT_TRUE(f.events.empty());
  EXPECT_EQ(f.senders.at(0).quiet_us, 0);
}

TEST(Study, DiagnosticReplies) {
  const Findings f = study(numbered({made_frame(0, 0x7E8, {7, 0x59, 2, 0xFF, 0xC1, 0x00, 0x87, 0x09}, 0, false),
                                     made_frame(900, 0x7E8, {7, 0x59, 2, 0xFF, 0xC1, 0x00, 0x87, 0x09}, 0, false)}));
  ASSERT_EQ(f.diagnostic_codes.size(), 1U);
  EXPECT_EQ(can::diagnostic_code_text(f.diagnostic_codes[0].code), "U0100-87");
  EXPECT_EQ(f.diagnostic_codes[0].times, 2U);
  EXPECT_EQ(f.diagnostic_codes[0].last.line, 2U);
}

// Any bytes, in pieces of any size: the same findings, and no more lists than there is room for.
TEST(Study, SplitAnywhereTheSame) {
  base::Rng rng(11);
  std::vector<can::Frame> frames;
  const std::uint32_t groups[] = {60928, 59904, 59392, 60416, 60160, 65226, 65227, 65271, 0xDA00, 61444};
  std::int64_t at = 0;
  for (int i = 0; i < 4000; ++i) {
    at += static_cast<std::int64_t>(rng.below(20'000)) + (rng.chance(0.002) ? -5'000'000 : 0);
    can::Frame frame = made_frame(at,
                                  made_id(groups[rng.below(10)], static_cast<std::uint8_t>(rng.below(6)),
                                          static_cast<std::uint8_t>(rng.chance(0.5) ? 255 : rng.below(6))),
                                  {});
    frame.length = 8;
    for (int b = 0; b < 8; ++b)
      frame.data[static_cast<std::size_t>(b)] = static_cast<std::uint8_t>(rng.chance(0.3) ? 0xFE : rng.below(40));
    if (rng.chance(0.01)) frame.kind = can::FrameKind::kError;
    frames.push_back(frame);
  }
  frames = numbered(frames);
  const std::string whole = findings_text(study(frames));
  for (int round = 0; round < 5; ++round) {
    SCOPED_TRACE("seed 11, round " + std::to_string(round));
    Study pieces;
    for (std::size_t from = 0; from < frames.size();) {
      const std::size_t count = std::min(frames.size() - from, rng.below(300));
      pieces.take(std::span(frames).subspan(from, count));
      from += count;
    }
    EXPECT_EQ(findings_text(pieces.findings()), whole);
  }
}

// What one channel's senders are told must not depend on how another's frames lie between theirs.
TEST(Study, ChannelsDoNotDisturbEachOther) {
  MadeTraffic made(21);
  made.cyclic({made_id(61444, 0), 20'000, 0.05, true, 0}, 10'000'000);
  made.cyclic({made_id(61441, 0), 30'000, 0.05, true, 1}, 10'000'000);
  std::vector<can::Frame> both = made.frames();
  std::vector<can::Frame> swapped = both;
  for (can::Frame& frame : swapped) frame.channel = frame.channel == 0 ? 1 : 0;
  const Findings a = study(both);
  const Findings b = study(swapped);
  ASSERT_EQ(a.senders.size(), 2U);
  ASSERT_EQ(b.senders.size(), 2U);
  EXPECT_EQ(a.senders[0].frames, b.senders[1].frames);
  EXPECT_EQ(a.senders[0].messages[0].pgn, b.senders[1].messages[0].pgn);
  EXPECT_EQ(a.load[0].bits_most, b.load[1].bits_most);
}

TEST(Study, ListsAreBounded) {
  std::vector<can::Frame> frames;
  base::Rng rng(5);
  for (int i = 0; i < 40'000; ++i) {
    frames.push_back(made_frame(i * 100, static_cast<std::uint32_t>(rng.below(1U << 29U)), {1}));
    frames.back().channel = static_cast<std::uint8_t>(rng.below(256));
  }
  const Findings f = study(numbered(frames));
  EXPECT_LE(f.senders.size(), 2048U);
  EXPECT_GT(f.unlisted, 0U);
  std::uint64_t listed = 0;
  for (const Sender& sender : f.senders) listed += sender.frames;
  EXPECT_EQ(listed + f.unlisted, f.frames);
}

}  // namespace
}  // namespace halfsplit::capture
