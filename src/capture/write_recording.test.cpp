// SPDX-License-Identifier: Apache-2.0
// What is written is read back the same, whatever the frames.
#include "capture/write_recording.h"

#include <gtest/gtest.h>

#include "base/bytes.h"
#include "capture/open_recording.h"
#include "capture/random_frames.h"
#include "capture/test_frames.h"

namespace halfsplit::capture {
namespace {

const std::vector<std::string> kNames = {"can0", "vcan1", "a-very-long-name"};

Read read_back(std::string bytes) {
  base::OneWorker one;
  auto source = open_recording(std::make_unique<base::StringBytes>(std::move(bytes)), one, "test");
  EXPECT_TRUE(source.ok()) << base::format_diagnostics(source.diagnostics());
  return source.ok() ? read_all(**source) : Read{};
}

void expect_same(const std::vector<can::Frame>& written, const Read& read) {
  ASSERT_EQ(read.frames.size(), written.size());
  for (std::size_t i = 0; i < written.size(); ++i) ASSERT_EQ(show(read.frames[i]), show(written[i]));
  EXPECT_EQ(read.recording.channels, kNames);
  EXPECT_EQ(read.recording.frames, written.size());
  EXPECT_EQ(read.recording.time_base, TimeBase::kAbsolute);
  EXPECT_EQ(read.recording.damaged, 0U);
  EXPECT_FALSE(read.recording.truncated);
}

TEST(WriteRecording, FramesComeBackFromText) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    SCOPED_TRACE(seed);
    const std::vector<can::Frame> frames = make_random_frames(seed, 3000, kNames.size());
    std::string text;
    append_candump(text, frames, kNames);
    expect_same(frames, read_back(text));
  }
}

TEST(WriteRecording, FramesComeBackFromPackets) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    SCOPED_TRACE(seed);
    const std::vector<can::Frame> frames = make_random_frames(seed, 3000, kNames.size());
    std::string bytes;
    append_pcapng_head(bytes, kNames);
    append_pcapng(bytes, frames, kNames);
    expect_same(frames, read_back(bytes));
  }
}

TEST(WriteRecording, ALineIsWrittenAsCandumpDoes) {
  can::Frame frame;
  frame.time_us = 1'600'000'000'123'456;
  frame.id = 0x18FEF100;
  frame.extended = true;
  frame.length = 2;
  frame.data[0] = 0x0A;
  frame.data[1] = 0xFF;
  std::string text;
  append_candump(text, std::span(&frame, 1), {});
  EXPECT_EQ(text, "(1600000000.123456) can0 18FEF100#0AFF\n");
}

}  // namespace
}  // namespace halfsplit::capture
