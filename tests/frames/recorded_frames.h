// SPDX-License-Identifier: Apache-2.0
// Recorded frames of tests/data/captures for tests of what frames say: a reader of its own, for files known to be
// whole.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "can/frame.h"

namespace halfsplit::frames {

// "(time) bus id#data", with or without a number before it, or "bus id [n] bytes" without times.
[[nodiscard]] std::vector<can::Frame> read_recorded(const std::string& file);

// "time,priority,pgn,source,destination,bytes,b0,..."; a line that begins with # starts a new part.
struct RecordedPart {
  std::string says;  // its remark lines
  std::vector<can::Frame> frames;
};
[[nodiscard]] std::vector<RecordedPart> read_recorded_csv(const std::string& file);

// "01 AB 7F"
[[nodiscard]] std::vector<std::uint8_t> bytes_of(const std::string& text);

}  // namespace halfsplit::frames
