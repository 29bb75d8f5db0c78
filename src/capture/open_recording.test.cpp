// SPDX-License-Identifier: Apache-2.0
#include "capture/open_recording.h"

#include <gtest/gtest.h>
#include <zstd.h>

#include "base/bytes.h"
#include "base/rng.h"
#include "capture/random_frames.h"
#include "capture/test_frames.h"
#include "capture/write_recording.h"

namespace halfsplit::capture {
namespace {

base::OneWorker g_one;

base::Result<std::unique_ptr<FrameSource>> open(const std::string& bytes) {
  return open_recording(std::make_unique<base::StringBytes>(bytes), g_one, "some.log");
}
std::string problem(const std::string& bytes) {
  const auto opened = open(bytes);
  return opened.ok() ? "opened" : opened.diagnostics().front().code;
}
std::string format(const std::string& bytes) {
  const auto opened = open(bytes);
  return opened.ok() ? read_all(**opened).recording.format : opened.diagnostics().front().code;
}
std::string zstd(const std::string& text) {
  std::string packed(ZSTD_compressBound(text.size()), '\0');
  packed.resize(ZSTD_compress(packed.data(), packed.size(), text.data(), text.size(), 3));
  return packed;
}

TEST(OpenRecording, EachFormIsKnownByItsContent) {
  const std::string log = "(1600000000.0) can0 123#11\n";
  std::string packets;
  append_pcapng_head(packets, {"can0"});
  can::Frame frame;
  append_pcapng(packets, std::span(&frame, 1), {"can0"});
  EXPECT_EQ(format(log), "candump log");
  EXPECT_EQ(format("  can0  123   [1]  11\n"), "candump console");
  EXPECT_EQ(format(packets), "pcapng");
  EXPECT_EQ(format(zstd(log)), "candump log");
  EXPECT_EQ(format(zstd(zstd(packets))), "pcapng");
}

TEST(OpenRecording, ALogMayBeginWithOtherLines) {
  EXPECT_EQ(format("recorded at the dashboard plug\n\n(1600000000.0) can0 123#11\n"), "candump log");
}

TEST(OpenRecording, NothingIsSaidToBeNothing) {
  EXPECT_EQ(problem(""), "capture.empty");
  EXPECT_EQ(problem(zstd("")), "capture.empty");
}

TEST(OpenRecording, WhatIsNoRecordingIsRefusedWithAHint) {
  for (const char* other : {"just a text\n", "BZh91AY", "\xFF\xFE(\x30", "%PDF-1.7"}) {
    const auto opened = open(other);
    ASSERT_FALSE(opened.ok());
    EXPECT_EQ(opened.diagnostics().front().code, "capture.unknown-form");
    EXPECT_NE(opened.diagnostics().front().message.find("some.log"), std::string::npos);
    EXPECT_FALSE(opened.diagnostics().front().hint.empty());
  }
}

TEST(OpenRecording, APacketFileOfAnotherNetworkIsRefused) {
  const std::string ethernet("\xD4\xC3\xB2\xA1\2\0\4\0\0\0\0\0\0\0\0\0\0\0\4\0\1\0\0\0", 24);
  EXPECT_EQ(problem(ethernet), "capture.other-link");
}

TEST(OpenRecording, APackedFileCutShortIsReadAsFarAsItGoes) {
  std::string log;
  for (int i = 0; i < 50'000; ++i)
    log += "(1600000000." + std::to_string(100'000 + i) + ") can0 123#1122334455667788\n";
  const std::string packed = zstd(log);
  const auto opened = open(packed.substr(0, packed.size() / 2));
  ASSERT_TRUE(opened.ok());
  const Read got = read_all(**opened);
  EXPECT_GT(got.frames.size(), 1000U);
  EXPECT_TRUE(got.recording.truncated);
  ASSERT_TRUE(got.recording.problem);
  EXPECT_EQ(got.recording.problem->code, "capture.truncated");
}

// Which channel comes first in a piece differs; only where the first one is not yet known has a piece to be altered.
TEST(OpenRecording, PiecesOfSeveralChannelsHaveTheirNumbersFromTheStart) {
  const std::vector<std::string> names = {"can2", "can0", "can1"};
  base::Rng rng(3);
  std::vector<can::Frame> frames = make_random_frames(3, 20'000, names.size());
  for (std::size_t i = 3; i < frames.size(); ++i)
    if (rng.chance(0.5)) frames[i].channel = 0;
  std::string log, packets;
  append_candump(log, frames, names);
  append_pcapng_head(packets, names);
  append_pcapng(packets, frames, names);
  for (const std::string& bytes : {log, packets}) {
    const std::vector<can::Frame> expected = read_all(**open(bytes)).frames;
    ASSERT_EQ(expected.size(), frames.size());
    Taker taker;
    (*open(bytes))->deliver_pieces(taker);
    ASSERT_EQ(taker.shown.size(), frames.size());
    for (std::size_t i = 0; i < frames.size(); ++i) {
      ASSERT_EQ(taker.shown[i], show(expected[i]));
      ASSERT_EQ(expected[i].channel, frames[i].channel);
    }
    EXPECT_EQ(taker.settled, 0U);
    EXPECT_GT(taker.as_looked_at, 3U);
  }
}

// A piece whose frames were not kept is read anew, with the channels known when it was read first, or later.
TEST(OpenRecording, PiecesThatAreRefusedAreReadAnewAndAreTheSameFrames) {
  const std::vector<std::string> names = {"can2", "can0", "can1", "can3"};
  std::vector<can::Frame> frames = make_random_frames(5, 15'000, 3);
  for (std::size_t i = 9'000; i < frames.size(); i += 7) frames[i].channel = 3;
  std::string log, packets;
  append_candump(log, frames, names);
  log.insert(log.size() / 3, "\nno frame\n\n");
  append_pcapng_head(packets, names);
  append_pcapng(packets, frames, names);
  for (const std::string& bytes : {log, packets}) {
    const Read expected = read_all(**open(bytes));
    for (const std::size_t refused_of : {1, 2, 3}) {
      FarAhead workers(4);
      auto source = open_recording(std::make_unique<base::StringBytes>(bytes), workers, "here");
      ASSERT_TRUE(source.ok());
      Taker taker(refused_of);
      (*source)->deliver_pieces(taker);
      EXPECT_GT(taker.settled, 2U);
      EXPECT_EQ(taker.as_looked_at > 0, refused_of > 1);
      EXPECT_LE(taker.most_at_once, 1000U);
      ASSERT_EQ(taker.shown.size(), expected.frames.size());
      for (std::size_t i = 0; i < expected.frames.size(); ++i) ASSERT_EQ(taker.shown[i], show(expected.frames[i]));
      const Recording& told = (*source)->recording();
      EXPECT_EQ(told.channels, expected.recording.channels);
      EXPECT_EQ(told.frames, expected.recording.frames);
      EXPECT_EQ(told.lines, expected.recording.lines);
      EXPECT_EQ(told.damaged, expected.recording.damaged);
      EXPECT_EQ(told.skipped, expected.recording.skipped);
      EXPECT_EQ(told.backwards, expected.recording.backwards);
      ASSERT_EQ(told.first_damage.size(), expected.recording.first_damage.size());
      for (std::size_t d = 0; d < told.first_damage.size(); ++d)
        EXPECT_EQ(told.first_damage[d].line, expected.recording.first_damage[d].line);
    }
  }
}

// What only the order tells is not looked at ahead of it: times from frame to frame, channels too many to begin with
// those that were known.
TEST(OpenRecording, PiecesWhoseFramesDependOnTheOrderAreKeptForIt) {
  std::string steps, channels;
  for (int i = 0; i < 10'000; ++i) steps += " (00" + std::to_string(i % 7) + ".010000)  can0  123   [2]  11 22\n";
  for (int i = 0; i < 20'000; ++i) {
    const int channel = i < 6'000 ? 0 : i % 300;
    channels += "(16000" + std::to_string(10'000 + i) + ".000000) bus" + std::to_string(channel) + " 123#11\n";
  }
  for (const std::string& log : {steps, channels}) {
    const Read expected = read_all(**open(log));
    ASSERT_GT(expected.frames.size(), 9'000U);
    Taker taker;
    (*open(log))->deliver_pieces(taker);
    EXPECT_GT(taker.settled, 0U);
    ASSERT_EQ(taker.shown.size(), expected.frames.size());
    for (std::size_t i = 0; i < expected.frames.size(); ++i) ASSERT_EQ(taker.shown[i], show(expected.frames[i]));
  }
}

// More channels than are remembered from piece to piece.
TEST(OpenRecording, PiecesOfVeryManyChannelsAreTheSameFrames) {
  std::vector<std::string> names;
  for (int c = 0; c < 300; ++c) names.push_back("bus" + std::to_string(c));
  std::string log;
  base::Rng rng(4);
  for (std::size_t from = 0; from < 60; from += 20)
    for (int i = 0; i < 3'000; ++i) {
      const can::Frame frame = make_random_frame(rng, 1'600'000'000'000'000 + i, 1);
      append_candump(log, std::span(&frame, 1), {names[from * 4 + rng.below(100)]});
    }
  const Read expected = read_all(**open(log));
  Taker taker;
  const auto source = open(log);
  (*source)->deliver_pieces(taker);
  EXPECT_EQ((*source)->recording().channels, expected.recording.channels);
  EXPECT_EQ((*source)->recording().damaged, expected.recording.damaged);
  ASSERT_EQ(taker.shown.size(), expected.frames.size());
  for (std::size_t i = 0; i < expected.frames.size(); ++i) ASSERT_EQ(taker.shown[i], show(expected.frames[i]));
}

}  // namespace
}  // namespace halfsplit::capture
