// SPDX-License-Identifier: Apache-2.0
// Any bytes as a text log: every line is a frame, nothing or damage; pieces that are looked at, or read anew, hold the
// same frames; frames that were read can be written and read again.
#include <cstdint>
#include <string>

#include "base/bytes.h"
#include "base/check.h"
#include "capture/candump_text.h"
#include "capture/test_frames.h"
#include "capture/write_recording.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  base::OneWorker one;
  const auto read = [&](std::string text) {
    return capture::read_all(*capture::read_candump_text(std::make_unique<base::StringBytes>(std::move(text)), one));
  };
  const std::string whole(reinterpret_cast<const char*>(data), size);
  const capture::Read first = read(whole);
  const capture::Recording& told = first.recording;
  HS_CHECK(told.frames == first.frames.size(), "frames are counted");
  HS_CHECK(told.lines == told.frames + told.damaged + told.skipped, "a line is a frame, damage or nothing");
  capture::check_pieces([&] { return capture::read_candump_text(std::make_unique<base::StringBytes>(whole), one); },
                        first.frames);
  std::string text;
  for (const can::Frame& frame : first.frames) {
    HS_CHECK(frame.length <= (frame.flexible ? 64 : 8), "no frame is longer than its kind allows");
    can::Frame plain = frame;
    plain.channel = 0;
    plain.time_us = 1'600'000'000'000'000;
    capture::append_candump(text, std::span(&plain, 1), {"can0"});
  }
  const capture::Read second = read(text);
  HS_CHECK(second.frames.size() == first.frames.size(), "what was read can be written and read again");
  for (std::size_t i = 0; i < first.frames.size(); ++i) {
    can::Frame expected = first.frames[i];
    expected.channel = 0;
    expected.time_us = 1'600'000'000'000'000;
    expected.line = i + 1;
    HS_CHECK(capture::show(second.frames[i]) == capture::show(expected), "and is the same");
  }
  return 0;
}
