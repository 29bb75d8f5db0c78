// SPDX-License-Identifier: Apache-2.0
// Any frames as diagnostic messages, with a pair of the caller's and one with an address byte; replies among them are
// read. The same frames as fast packets.
#include "can/iso_tp.h"

#include "base/check.h"
#include "can/fast_packet.h"
#include "can/fuzz_frames.h"
#include "can/uds_codes.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  can::IsoTp iso_tp({{0x700, 0x708, false, false}, {0x6F1, 0x612, false, true}});
  can::FastPackets fast;
  std::vector<can::IsoTpMessage> ended;
  std::vector<can::FastMessage> fast_ended;
  for (const can::Frame& frame : can::fuzz_frames(data, size)) {
    iso_tp.take(frame, ended);
    fast.take(frame, fast_ended);
  }
  iso_tp.finish(ended);
  fast.finish(fast_ended);
  HS_CHECK(iso_tp.counts().complete + iso_tp.counts().unfinished == ended.size(), "every end is counted");
  for (const can::IsoTpMessage& message : ended) {
    HS_CHECK(message.received == message.bytes.size() && message.received <= message.size, "no more than announced");
    HS_CHECK((message.end == can::IsoTpEnd::kComplete) == (message.received == message.size), "complete is all of it");
    const auto reply = can::read_diagnostic_reply(message.bytes);
    if (!reply) continue;
    HS_CHECK(reply->codes.size() <= message.bytes.size() / 2, "a code takes bytes");
    for (const can::DiagnosticCode& code : reply->codes) (void)can::diagnostic_code_text(code);
  }
  for (const can::FastMessage& message : fast_ended) {
    HS_CHECK(message.bytes.size() == (message.complete ? message.size : 0U), "complete is all of it");
  }
  return 0;
}
