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

// Takes pieces as they were looked at where it may.
class Taker final : public PieceTaker {
 public:
  void begin(std::size_t) override {}
  void look_at(std::size_t, std::span<const can::Frame>) override {}
  bool take(std::size_t, std::span<const can::Frame> frames, std::uint64_t lines_ahead) override {
    ++as_looked_at;
    for (can::Frame frame : frames) {
      frame.line += lines_ahead;
      shown.push_back(show(frame));
    }
    return true;
  }
  void take_settled(std::size_t, std::span<const can::Frame> frames) override {
    if (!frames.empty()) ++settled;
    for (const can::Frame& frame : frames) shown.push_back(show(frame));
  }
  bool wants_more() override { return true; }

  std::size_t as_looked_at = 0, settled = 0;
  std::vector<std::string> shown;
};

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
