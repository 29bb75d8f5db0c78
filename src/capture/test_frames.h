// SPDX-License-Identifier: Apache-2.0
// For tests: all frames of a source, and a frame as text.
#pragma once

#include <cstdio>
#include <string>
#include <vector>

#include "capture/frame_source.h"

namespace halfsplit::capture {

struct Read {
  std::vector<can::Frame> frames;
  Recording recording;
};

inline Read read_all(FrameSource& source, std::size_t batch = 100) {
  Read all;
  std::vector<can::Frame> some(batch);
  for (std::size_t count = source.next(some); count > 0; count = source.next(some))
    all.frames.insert(all.frames.end(), some.begin(), some.begin() + static_cast<std::ptrdiff_t>(count));
  all.recording = source.recording();
  return all;
}

// "time line channel ID [length] bytes"
inline std::string show(const can::Frame& frame) {
  char text[64];
  std::snprintf(text, sizeof text, "%lld %llu %u ", static_cast<long long>(frame.time_us),
                static_cast<unsigned long long>(frame.line), frame.channel);
  std::string all = text;
  const char* form = frame.kind == can::FrameKind::kError ? "error %X" : frame.extended ? "%08X" : "%03X";
  std::snprintf(text, sizeof text, form, frame.id);
  all += text;
  if (frame.kind == can::FrameKind::kRemote) all += " remote";
  if (frame.flexible) all += " FD";
  all += " [" + std::to_string(frame.length) + "]";
  for (const std::uint8_t byte : frame.bytes()) {
    std::snprintf(text, sizeof text, " %02X", byte);
    all += text;
  }
  return all;
}

}  // namespace halfsplit::capture
