// SPDX-License-Identifier: Apache-2.0
// pcap and pcapng files as frames. Sources: pcap(5) as tcpdump.org describes it ("pcap-savefile"), the IETF draft "PCAP
// Now Generic (pcapng) Capture File Format". Reads the blocks itself, because libpcap (its twin in the tests) does not
// tell which interface a packet of a pcapng file came from, so that two buses would become one, refuses a file that
// also holds interfaces of another link, and takes about one and a half times as long.
//
// Packets of other links are skipped and counted, damaged ones passed over. Where the structure of the file itself is
// broken nothing behind it can be found: Recording::problem says where that is (capture.broken-packets).
#pragma once

#include <memory>
#include <string_view>

#include "base/seams.h"
#include "capture/frame_source.h"

namespace halfsplit::capture {

// By its first four bytes.
[[nodiscard]] bool is_packet_file(std::string_view beginning);
// Of a pcap file whose packets are all of one link that carries no CAN.
[[nodiscard]] bool is_other_link(std::string_view beginning);

// `workers` is used within deliver(), and must outlive what is returned.
[[nodiscard]] std::unique_ptr<FrameSource> read_packet_file(std::unique_ptr<base::ByteSource> bytes,
                                                            base::Workers& workers);

}  // namespace halfsplit::capture
