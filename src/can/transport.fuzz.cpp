// SPDX-License-Identifier: Apache-2.0
// Any frames as long messages under way: what is announced ends exactly once, what is complete has all its bytes, what
// is told is in the order of the recording.
#include "can/transport.h"

#include "base/check.h"
#include "can/fuzz_frames.h"
#include "can/trouble_codes.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  can::Transport transport;
  std::vector<can::TransportMessage> ended;
  for (const can::Frame& frame : can::fuzz_frames(data, size)) transport.take(frame, ended);
  transport.finish(ended);
  const can::TransportCounts& counts = transport.counts();
  HS_CHECK(counts.announced == ended.size(), "what is announced ends once");
  HS_CHECK(counts.announced == counts.complete + counts.aborted + counts.unfinished, "every end is counted");
  for (const can::TransportMessage& message : ended) {
    const bool complete = message.end == can::TransportEnd::kComplete;
    HS_CHECK(message.bytes.size() == (complete ? message.size : 0U), "complete is all of it");
    HS_CHECK(message.received <= message.packets && message.first_line <= message.last_line,
             "it fits its announcement");
    (void)can::read_code_report(message.bytes);
  }
  return 0;
}
