// SPDX-License-Identifier: Apache-2.0
// Any bytes as a pcap or pcapng file: every packet is a frame, another link's or damaged; pieces that are looked at, or
// read anew, hold the same frames.
#include <cstdint>
#include <string>

#include "base/bytes.h"
#include "base/check.h"
#include "capture/packet_file.h"
#include "capture/test_frames.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  base::OneWorker one;
  const std::string bytes(reinterpret_cast<const char*>(data), size);
  const capture::Read read =
      capture::read_all(*capture::read_packet_file(std::make_unique<base::StringBytes>(bytes), one));
  const capture::Recording& told = read.recording;
  HS_CHECK(told.frames == read.frames.size(), "frames are counted");
  HS_CHECK(told.lines == told.frames + told.damaged + told.skipped, "a packet is a frame, damage or of another link");
  HS_CHECK(told.bytes <= size, "no more is read than there is");
  for (const can::Frame& frame : read.frames) {
    HS_CHECK(frame.length <= (frame.flexible ? 64 : 8), "no frame is longer than its kind allows");
    HS_CHECK(frame.channel < told.channels.size() || frame.channel == 255, "each channel has a name");
  }
  capture::check_pieces([&] { return capture::read_packet_file(std::make_unique<base::StringBytes>(bytes), one); },
                        read.frames);
  (void)capture::is_other_link(bytes);
  return 0;
}
