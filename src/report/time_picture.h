// SPDX-License-Identifier: Apache-2.0
// A recording as one picture over time: a lane for each sender, its line as heavy as it is busy and broken where it was
// silent; silences of one moment joined by a thin band with the number of their group; below it codes, error frames,
// the supply as reported and the bus load. Black on white. At most kMostLanes lanes, kMostBands bands, kMostCodeRows
// codes.
#pragma once

#include <string>
#include <vector>

#include "capture/findings.h"

namespace halfsplit::report {

constexpr std::size_t kMostLanes = 48, kMostBands = 120, kMostCodeRows = 12;

struct TimePicture {
  const capture::Findings* findings = nullptr;
  std::string title;
  std::string note;                        // a line below the title
  std::vector<std::string> sender_names;   // of findings->senders
  std::vector<std::string> channel_names;  // of findings->load
  bool dark = false;
};

[[nodiscard]] std::string draw_time_picture(const TimePicture& picture);
// The same in a page of its own, with the silences as a list; no scripts.
[[nodiscard]] std::string time_picture_html(const TimePicture& picture);

}  // namespace halfsplit::report
