// SPDX-License-Identifier: Apache-2.0
#include "capture/open_recording.h"

#include <gtest/gtest.h>
#include <zstd.h>

#include "base/bytes.h"
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

}  // namespace
}  // namespace halfsplit::capture
