// SPDX-License-Identifier: Apache-2.0
#include "capture/candump_text.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <string_view>

#include "base/bytes.h"
#include "base/rng.h"
#include "capture/candump_line.h"
#include "capture/test_frames.h"
#include "capture/usual_line.h"

namespace halfsplit::capture {
namespace {

Read read(const std::string& text) {
  base::OneWorker one;
  return read_all(*read_candump_text(std::make_unique<base::StringBytes>(text), one));
}
std::string shown(const std::string& text) {
  const Read got = read(text);
  return got.frames.empty() ? "none" : show(got.frames.front());
}

TEST(CandumpText, ALogLineIsTimeInterfaceIdentifierAndBytes) {
  EXPECT_EQ(shown("(1600000000.123456) can0 18FEF100#0011223344556677\n"),
            "1600000000123456 1 0 18FEF100 [8] 00 11 22 33 44 55 66 77");
  EXPECT_EQ(shown("(1600000000.123456) can0 123#\n"), "1600000000123456 1 0 123 [0]");
}

TEST(CandumpText, RemoteFramesSayHowManyBytesTheyAskFor) {
  EXPECT_EQ(shown("(1600000000.000001) can0 123#R\n"), "1600000000000001 1 0 123 remote [0]");
  EXPECT_EQ(shown("(1600000000.000001) can0 00000123#R8\n"), "1600000000000001 1 0 00000123 remote [8]");
  EXPECT_EQ(shown("  can0  123   [4]  remote request\n"), "0 1 0 123 remote [4]");
  EXPECT_EQ(shown("  can0  123   [0]  remote request\n"), "0 1 0 123 remote [0]");
}

TEST(CandumpText, ConsoleLinesHaveNoTimesOfTheirOwn) {
  EXPECT_EQ(shown("  can0  18FEF100   [8]  00 11 22 33 44 55 66 77\n"), "0 1 0 18FEF100 [8] 00 11 22 33 44 55 66 77");
  EXPECT_EQ(shown("<0x18feca00> [2] 73 ff \n"), "0 1 0 18FECA00 [2] 73 FF");
}

TEST(CandumpText, ColumnsOfDirectionFlagsAndCharactersAreReadOver) {
  EXPECT_EQ(shown(" (1600000000.000001)  can0  RX - -  123   [2]  11 22                     '.\"'\n"),
            "1600000000000001 1 0 123 [2] 11 22");
  EXPECT_EQ(shown("  can0  TX B E  123  [02]  AB CD\n"), "0 1 0 123 FD [2] AB CD");
  EXPECT_EQ(shown("(1600000000.000001) can0 123#11 T\n"), "1600000000000001 1 0 123 [1] 11");
  EXPECT_EQ(shown("  can0       123   [3]  33`22`11                  `3\".`\n"), "0 1 0 123 [3] 11 22 33");
}

TEST(CandumpText, FlexibleFrames) {
  EXPECT_EQ(shown("(1600000000.000001) can0 123##1AABB\n"), "1600000000000001 1 0 123 FD [2] AA BB");
  EXPECT_EQ(shown("  can0  18FEF100  [12]  00 01 02 03 04 05 06 07 08 09 0A 0B\n"),
            "0 1 0 18FEF100 FD [12] 00 01 02 03 04 05 06 07 08 09 0A 0B");
  EXPECT_EQ(read("(1600000000.000001) can0 123##1112233445566778899\n").recording.damaged, 1U);  // nine bytes
}

TEST(CandumpText, TheAdaptersErrorReports) {
  EXPECT_EQ(shown("(1600000000.000001) can0 20000004#0004000000000000\n"),
            "1600000000000001 1 0 error 4 [8] 00 04 00 00 00 00 00 00");
  const Read console = read(
      "  can0  20000004   [8]  00 04 00 00 00 00 00 00   ERRORFRAME\n"
      "\tcontroller-problem{rx-error-warning}\n");
  ASSERT_EQ(console.frames.size(), 1U);
  EXPECT_EQ(show(console.frames[0]), "0 1 0 error 4 [8] 00 04 00 00 00 00 00 00");
  EXPECT_EQ(console.recording.skipped, 1U);
  EXPECT_EQ(console.recording.damaged, 0U);
}

TEST(CandumpText, LineEndsOfBothKindsAndNumberedLines) {
  EXPECT_EQ(shown("(1600000000.000001) can0 123#11\r\n"), "1600000000000001 1 0 123 [1] 11");
  EXPECT_EQ(shown("7 (1600000000.000001) vcan0 123#11\n"), "1600000000000001 1 0 123 [1] 11");
  EXPECT_EQ(shown("  can0  123   [1]  11\r\n"), "0 1 0 123 [1] 11");
}

TEST(CandumpText, InterfacesAreNumberedInTheOrderTheyAppear) {
  const Read got = read("(1600000000.0) can1 123#11\n(1600000000.0) can0 123#11\n(1600000000.1) can1 123#\n");
  EXPECT_EQ(got.recording.channels, (std::vector<std::string>{"can1", "can0"}));
  EXPECT_EQ(got.frames[1].channel, 1);
  EXPECT_EQ(got.frames[2].channel, 0);
}

struct Flawed {
  const char* line;
  std::uint32_t column;
  const char* what;
};
class DamagedLine : public ::testing::TestWithParam<Flawed> {};

TEST_P(DamagedLine, IsPassedOverAndSaysWhere) {
  const Read got =
      read(std::string("(1600000000.0) can0 123#11\n") + GetParam().line + "\n(1600000000.1) can0 7FF#22\n");
  EXPECT_EQ(got.frames.size(), 2U);
  EXPECT_EQ(got.recording.damaged, 1U);
  ASSERT_EQ(got.recording.first_damage.size(), 1U);
  EXPECT_EQ(got.recording.first_damage[0].line, 2U);
  EXPECT_EQ(got.recording.first_damage[0].column, GetParam().column);
  EXPECT_EQ(got.recording.first_damage[0].what, GetParam().what);
  EXPECT_EQ(got.frames.back().line, 3U);
}

INSTANTIATE_TEST_SUITE_P(
    Lines, DamagedLine,
    ::testing::Values(
        Flawed{"what is this", 6, "not a frame: \"is this\""},
        Flawed{"(16x0000000.0) can0 123#11", 4, "not a time: \"x0000000.0) can0 123#11\""},
        Flawed{"(1600000000.0) can0 12#11", 21, "not an identifier of 3 or 8 hexadecimal digits: \"12#11\""},
        Flawed{"(1600000000.0) can0 800#11", 21,
               "an identifier larger than 7FF (3 digits) or 1FFFFFFF (8 digits): \"800#11\""},
        Flawed{"(1600000000.0) can0 80000000#", 21,
               "an identifier larger than 7FF (3 digits) or 1FFFFFFF (8 digits): \"80000000#\""},
        Flawed{"(1600000000.0) can0 123#1", 25, "half a byte: \"1\""},
        Flawed{"(1600000000.0) can0 123#11xy", 27, "not a hexadecimal digit: \"xy\""},
        Flawed{"(1600000000.0) can0 123#112233445566778899", 41, "more bytes than such a frame can have: \"99\""},
        Flawed{"(1600000000.0) can0 123#11 and more", 28, "something unknown behind the frame: \"and more\""},
        Flawed{"(1600000000.0) can0 123#R9", 26, "a remote frame asks for 8 bytes at most: \"9\""},
        Flawed{"  can0  123   [08]  remote request", 21, "CAN FD has no remote frames: \"remote request\""},
        Flawed{"(1600000000.0) can0 20000004#R", 30, "an error report of the adapter is no remote frame: \"R\""},
        Flawed{"  can0  20000004   [0]  remote request", 25,
               "an error report of the adapter is no remote frame: \"remote request\""},
        Flawed{"  can0  123   [3]  11 22", 25, "fewer bytes than announced"},
        Flawed{"  can0  123   [2]  11 22 33", 26, "something unknown behind the frame: \"33\""},
        Flawed{"  can0  123   [9]  11 22", 16, "more bytes than such a frame can have: \"9]  11 22\""},
        Flawed{"\xC3\xA4 can0 123#11", 3, "not an identifier of 3 or 8 hexadecimal digits: \"can0 123#11\""}));

TEST(CandumpText, OnlyTheFirstDamagesAreKeptAllAreCounted) {
  std::string text = "(1600000000.0) can0 123#11\n";
  for (int i = 0; i < 20; ++i) text += "rubbish\n";
  const Recording got = read(text).recording;
  EXPECT_EQ(got.damaged, 20U);
  EXPECT_EQ(got.first_damage.size(), kKeptDamage);
  EXPECT_EQ(got.lines, 21U);
}

TEST(CandumpText, EmptyLinesCommentsAndHeadingsAreNoDamage) {
  const Recording got =
      read("\n# a comment\ninterface = can0, family = 29, type = 3, proto = 1\n<0x123> [1] 11 \n\r\n").recording;
  EXPECT_EQ(got.skipped, 4U);
  EXPECT_EQ(got.damaged, 0U);
  EXPECT_EQ(got.frames, 1U);
}

TEST(CandumpText, WhatTheTapLostIsAddedUp) {
  const Recording got = read(
                            "(1600000000.0) can0 123#11\n"
                            "DROPCOUNT: dropped 3 CAN frames on 'can0' socket (total drops 3)\n"
                            "DROPCOUNT: dropped 1 CAN frame on 'can0' socket (total drops 4)\n")
                            .recording;
  EXPECT_EQ(got.lost, 4U);
  EXPECT_EQ(got.damaged, 0U);
}

// --- times -----------------------------------------------------------------------------------------------------------

std::vector<std::int64_t> times(const Read& read) {
  std::vector<std::int64_t> all;
  for (const can::Frame& frame : read.frames) all.push_back(frame.time_us);
  return all;
}
std::string console(const std::vector<std::string>& stamps) {
  std::string text;
  for (const std::string& stamp : stamps) text += " (" + stamp + ")  can0  123   [1]  11\n";
  return text;
}

TEST(CandumpText, TimesSince1970) {
  const Read got = read(console({"1600000000.000001", "1600000000.000002"}));
  EXPECT_EQ(got.recording.time_base, TimeBase::kAbsolute);
  EXPECT_EQ(times(got), (std::vector<std::int64_t>{1600000000000001, 1600000000000002}));
}

TEST(CandumpText, TimesAsADate) {
  // date -u -d '2020-09-13 12:26:40' +%s says 1600000000; -d '2024-02-29 23:59:59' 1709251199
  const Read got = read(console({"2020-09-13 12:26:40.000001", "2024-02-29 23:59:59.500000"}));
  EXPECT_EQ(got.recording.time_base, TimeBase::kAbsolute);
  EXPECT_EQ(times(got), (std::vector<std::int64_t>{1600000000000001, 1709251199500000}));
}

TEST(CandumpText, TimesFromTheFirstFrameOn) {
  const Read got = read(console({"000.000000", "000.010000", "000.010900", "001.000000"}));
  EXPECT_EQ(got.recording.time_base, TimeBase::kRelative);
  EXPECT_EQ(times(got), (std::vector<std::int64_t>{0, 10000, 10900, 1000000}));
}

TEST(CandumpText, TimesFromFrameToFrameAreSummedUp) {
  const Read got = read(console({"000.000000", "000.010000", "000.000900", "000.020000", "000.000100"}));
  EXPECT_EQ(got.recording.time_base, TimeBase::kRelative);
  EXPECT_EQ(times(got), (std::vector<std::int64_t>{0, 10000, 10900, 30900, 31000}));
  EXPECT_EQ(got.recording.backwards, 0U);
}

TEST(CandumpText, EvenStepsFromFrameToFrameAreNoClockThatStandsStill) {
  std::vector<std::string> stamps = {"000.000000"};
  stamps.resize(400, "000.010000");
  EXPECT_EQ(times(read(console(stamps))).back(), 399 * 10000);
}

TEST(CandumpText, ATenDigitClockThatStartsAtZeroCountsFromTheFirstFrame) {
  const Read got = read("(0000000000.352000) vcan0 123#11\n(0000000000.353000) vcan0 123#11\n");
  EXPECT_EQ(got.recording.time_base, TimeBase::kRelative);
  EXPECT_EQ(times(got), (std::vector<std::int64_t>{352000, 353000}));
}

TEST(CandumpText, JumpsBackAreCounted) {
  const Read got = read(console({"1600000000.000000", "1600000001.000000", "1500000000.000000", "1500000001.000000"}));
  EXPECT_EQ(got.recording.backwards, 1U);
  EXPECT_EQ(got.frames.size(), 4U);
}

TEST(CandumpText, AFrameWithoutTimeTakesThatOfItsNeighbour) {
  const Read got = read("  can0  123   [0]\n" + console({"1600000000.000000"}) + "  can0  123   [0]\n");
  EXPECT_EQ(times(got), (std::vector<std::int64_t>{1600000000000000, 1600000000000000, 1600000000000000}));
}

// --- fast and side by side, but the same ---------------------------------------------------------------------------

// A line altered in a few places, so that some are usual, some unusual and some damaged.
std::string altered(std::string line, base::Rng& rng) {
  constexpr std::string_view kLikely = "0123456789ABCDEFabcdefgGx#().: R\r";
  for (std::uint64_t edits = rng.below(3); edits > 0; --edits) {
    const std::size_t at = rng.below(line.size());
    const char likely = kLikely[rng.below(kLikely.size())];
    line[at] = rng.chance(0.9) ? likely : static_cast<char>(rng.below(256));
  }
  std::replace(line.begin(), line.end(), '\n', ' ');
  return line + "\n";
}

TEST(UsualLine, AgreesWithTheSlowReader) {
  base::Rng rng(1);
  std::size_t usual = 0;
  UsualLine reader;  // which remembers seconds and identifiers of other lines
  reader.expect("can0", 3);
  for (int i = 0; i < 20'000; ++i) {
    const std::string line = altered("(1600000000.123456) can0 18FEF100#0011aA33ff55667F", rng);
    const std::string text = line + std::string(60, 'x') + "\n";
    can::Frame fast{}, slow{};
    slow.channel = 3;
    const char* past = reader.read(text.data(), fast);
    Line facts;
    const char* slow_past = read_candump_line(text.data(), text.data() + text.size(), slow, facts);
    if (past == nullptr) continue;
    ++usual;
    ASSERT_EQ(facts.kind, LineKind::kFrame) << line;
    ASSERT_EQ(facts.channel, "can0") << line;
    ASSERT_EQ(facts.time, LineTime::kWide) << line;
    ASSERT_EQ(past, slow_past);
    ASSERT_EQ(show(fast), show(slow)) << line;
  }
  EXPECT_GT(usual, 10'000U);
  EXPECT_LT(usual, 19'000U);
}

TEST(CandumpText, WhoeverReadsTheChunksTheFramesAreTheSame) {
  base::Rng rng(2);
  std::string text;
  for (int i = 0; i < 40'000; ++i) {
    char line[80];
    std::snprintf(line, sizeof line, "(%010d.%06d) can%d 18FEF100#0011223344556677", 1600000000 + i / 100,
                  static_cast<int>(rng.below(1000000)), i > 20'000 && rng.chance(0.1) ? 1 : 0);
    text += rng.chance(0.01) ? altered(line, rng) : line + std::string("\n");
  }
  const Read one = read(text);
  FarAhead far_ahead(8);
  Read other;
  const auto source = read_candump_text(std::make_unique<base::StringBytes>(text), far_ahead);
  source->deliver([&](std::span<const can::Frame> frames) {
    other.frames.insert(other.frames.end(), frames.begin(), frames.end());
    return true;
  });
  other.recording = source->recording();
  ASSERT_EQ(one.frames.size(), other.frames.size());
  for (std::size_t i = 0; i < one.frames.size(); ++i) ASSERT_EQ(show(one.frames[i]), show(other.frames[i]));
  EXPECT_EQ(one.recording.damaged, other.recording.damaged);
  EXPECT_EQ(one.recording.lines, 40'000U);
  EXPECT_EQ(other.recording.lines, 40'000U);
  EXPECT_EQ(one.recording.backwards, other.recording.backwards);
  EXPECT_GT(one.recording.backwards, 10'000U);
  EXPECT_GT(one.recording.damaged, 50U);
  for (std::size_t i = 0; i < kKeptDamage; ++i)
    EXPECT_EQ(one.recording.first_damage.at(i).line, other.recording.first_damage.at(i).line);
}

TEST(CandumpText, WhatNextLeftIsDelivered) {
  std::string text;
  for (int i = 0; i < 20'000; ++i) text += "(1600000000.000000) can0 123#11\n";
  FarAhead far_ahead(8);
  const auto source = read_candump_text(std::make_unique<base::StringBytes>(text), far_ahead);
  std::vector<can::Frame> some(3000);
  std::uint64_t line = source->next(some);
  EXPECT_EQ(line, 3000U);
  source->deliver([&](std::span<const can::Frame> frames) {
    for (const can::Frame& frame : frames) EXPECT_EQ(frame.line, ++line);
    return true;
  });
  EXPECT_EQ(line, 20'000U);
  EXPECT_EQ(source->recording().frames, 20'000U);
  EXPECT_EQ(source->next(some), 0U);
}

TEST(CandumpText, DeliveringCanBeEndedEarly) {
  std::string text;
  for (int i = 0; i < 100'000; ++i) text += "  can0  123   [1]  11\n";
  base::OneWorker one;
  const auto source = read_candump_text(std::make_unique<base::StringBytes>(text), one);
  std::size_t calls = 0;
  source->deliver([&](std::span<const can::Frame>) { return ++calls < 3; });
  EXPECT_EQ(calls, 3U);
  EXPECT_LT(source->recording().frames, 20'000U);
}

// --- the end of the file ---------------------------------------------------------------------------------------------

TEST(CandumpText, ALastLineWithoutEndIsAFrameOnlyWhenNoByteCanBeMissing) {
  EXPECT_EQ(read("(1600000000.0) can0 123#1122334455667788").recording.frames, 1U);
  EXPECT_EQ(read("  can0  123   [2]  11 22").recording.frames, 1U);
  for (const char* cut : {"(1600000000.0) can0 123#11", "  can0  123   [2]  11 2", "(16000"}) {
    const Recording got = read("(1600000000.0) can0 123#11\n" + std::string(cut)).recording;
    EXPECT_EQ(got.frames, 1U) << cut;
    EXPECT_TRUE(got.truncated) << cut;
    EXPECT_EQ(got.damaged, 1U) << cut;
  }
  EXPECT_FALSE(read("(1600000000.0) can0 123#11\n").recording.truncated);
}

TEST(CandumpText, ALineLongerThanABlockIsOneDamagedLine) {
  const Read got =
      read("(1600000000.0) can0 123#11\n" + std::string(2'000'000, 'x') + "\n(1600000000.0) can0 123#22\n");
  EXPECT_EQ(got.recording.damaged, 1U);
  EXPECT_EQ(got.recording.lines, 3U);
  ASSERT_EQ(got.frames.size(), 2U);
  EXPECT_EQ(got.frames[1].line, 3U);
}

}  // namespace
}  // namespace halfsplit::capture
