// SPDX-License-Identifier: Apache-2.0
// Recordings of others (tests/data/captures, README there) against what their READMEs count, against the frame lists
// that tshark 4.0.17 makes of them (tshark.csv there), against each other where one was written in several forms, and
// packet files against libpcap.
#include <gtest/gtest.h>
#include <pcap/pcap.h>
#include <zlib.h>

#include <cstdio>
#include <fstream>
#include <map>
#include <sstream>

#include "base/bytes.h"
#include "capture/can_packet.h"
#include "capture/findings_text.h"
#include "capture/open_recording.h"
#include "capture/random_frames.h"
#include "capture/study.h"
#include "capture/test_frames.h"
#include "capture/unpack.h"
#include "capture/write_recording.h"
#include "system/posix_files.h"
#include "system/threads.h"

namespace halfsplit {
namespace {

using capture::Read;

const std::string kFolder = "tests/data/captures/";

Read read_file(const std::string& name) {
  system::PosixFiles files;
  auto bytes = files.open(kFolder + name);
  EXPECT_TRUE(bytes.ok()) << name;
  static system::Threads threads(2);
  auto source = capture::open_recording(std::move(bytes).value(), threads, name);
  EXPECT_TRUE(source.ok()) << base::format_diagnostics(source.diagnostics());
  return capture::read_all(**source);
}

std::string unpacked(const std::string& name) {
  system::PosixFiles files;
  const auto bytes = capture::unpack(std::move(files.open(kFolder + name)).value(), capture::Packing::kZstd);
  std::string all, some(100'000, ' ');
  for (std::size_t got = bytes->read(some); got > 0; got = bytes->read(some)) all.append(some, 0, got);
  return all;
}

// Time, identifier and bytes, one line a frame; what the forms of one recording have in common.
std::vector<std::string> plain_list(const Read& read) {
  std::vector<std::string> list;
  for (can::Frame frame : read.frames) {
    frame.time_us -= read.frames.front().time_us;
    frame.line = list.size();
    list.push_back(capture::show(frame));
  }
  return list;
}

struct Count {
  const char* file;
  std::size_t frames;
};
class CountedRecording : public ::testing::TestWithParam<Count> {};

TEST_P(CountedRecording, HasTheFramesItsReadmeSays) {
  const Read got = read_file(GetParam().file);
  EXPECT_EQ(got.frames.size(), GetParam().frames);
  EXPECT_EQ(got.recording.damaged, 0U);
  EXPECT_FALSE(got.recording.truncated);
}
INSTANTIATE_TEST_SUITE_P(Files, CountedRecording,
                         ::testing::Values(Count{"j1939-multi-ecu/multi-ecu-a.candump.log.zst", 33300},
                                           Count{"j1939-multi-ecu/multi-ecu-b.brief.txt.zst", 12196},
                                           Count{"j1939-multi-ecu/multi-ecu-a-30s.pcap.zst", 4623},
                                           Count{"j1939-engine-start/engine-start.candump-console.txt", 853},
                                           Count{"n2k/network-a.pcap.zst", 45931},
                                           Count{"n2k/network-b.pcap.zst", 44307},
                                           Count{"n2k/logfile-c.candump.log.zst", 2129},
                                           Count{"n2k/console-a.candump.txt.zst", 5100},
                                           Count{"n2k/console-b.candump.txt.zst", 402},
                                           Count{"j1939-micro/numbered-lines-priorities.txt", 3},
                                           Count{"j1939-micro/numbered-line-edp.txt", 1},
                                           Count{"j1939-micro/numbered-line-unknown-pgn.txt", 1}));

// Pieces counted by whichever hand reads them, and one frame after the other.
TEST_P(CountedRecording, TellsTheSameHoweverManyHandsCountIt) {
  const Read got = read_file(GetParam().file);
  capture::Study one_by_one;
  for (const can::Frame& frame : got.frames) one_by_one.take({&frame, 1});
  const std::string told = capture::findings_text(one_by_one.findings());
  for (const std::size_t hands : {1, 2, 3}) {
    SCOPED_TRACE(std::to_string(hands) + " hands");
    system::PosixFiles files;
    system::Threads threads(hands);
    auto bytes = files.open(kFolder + GetParam().file);
    ASSERT_TRUE(bytes.ok());
    auto source = capture::open_recording(std::move(bytes).value(), threads, GetParam().file);
    ASSERT_TRUE(source.ok());
    capture::Study study;
    study.take_all(**source, [] { return true; });
    EXPECT_EQ(capture::findings_text(study.findings()), told);
    EXPECT_EQ((*source)->recording().frames, got.frames.size());
  }
}

TEST(Recordings, GroupsAreAsOftenAsTheReadmeSays) {
  std::map<std::uint32_t, int> groups;
  for (const can::Frame& frame : read_file("j1939-multi-ecu/multi-ecu-a.candump.log.zst").frames)
    ++groups[(frame.id >> 16 & 0xFF) < 240 ? frame.id >> 8 & 0x3FF00 : frame.id >> 8 & 0x3FFFF];
  EXPECT_EQ(groups[65262], 215);
  EXPECT_EQ(groups[65226], 1286);
  EXPECT_EQ(groups[61444], 10750);
  EXPECT_EQ(groups[60928], 25);
  EXPECT_EQ(groups[60160], 68);
}

// --- one recording, five forms ---------------------------------------------------------------------------------------

TEST(Recordings, FiveFormsOfTheSameThirtySecondsAreTheSameFrames) {
  const std::vector<std::string> log = plain_list(read_file("j1939-multi-ecu/multi-ecu-a-30s.candump.log"));
  EXPECT_EQ(log.size(), 4623U);
  EXPECT_EQ(plain_list(read_file("j1939-multi-ecu/multi-ecu-a-30s.pcap.zst")), log);
  EXPECT_EQ(plain_list(read_file("j1939-multi-ecu/multi-ecu-a-30s.pcapng.zst")), log);

  Read whole = read_file("j1939-multi-ecu/multi-ecu-a.candump.log.zst");
  whole.frames.resize(log.size());
  EXPECT_EQ(plain_list(whole), log);

  // The table is read here, apart from our readers: time_s, interface, id_hex, extended, dlc, data_hex.
  std::istringstream table(unpacked("j1939-multi-ecu/multi-ecu-a-30s.csv.zst"));
  std::string row;
  std::getline(table, row);
  std::size_t line = 0;
  for (; std::getline(table, row); ++line) {
    std::vector<std::string> cells;
    std::istringstream cut(row);
    for (std::string cell; std::getline(cut, cell, ',');) cells.push_back(cell);
    std::string time = cells.at(0);
    time.erase(time.find('.'), 1);
    std::string expected =
        std::to_string(std::stoll(time)) + " " + std::to_string(line) + " 0 " + cells.at(2) + " [" + cells.at(4) + "]";
    for (std::size_t i = 0; i < cells.at(5).size(); i += 2) expected += " " + cells.at(5).substr(i, 2);
    ASSERT_EQ(log.at(line), expected);
  }
  EXPECT_EQ(line, log.size());
}

TEST(Recordings, CarriageReturnsChangeNothing) {
  EXPECT_EQ(plain_list(read_file("n2k/fastpacket-engine.candump.log")),
            plain_list(read_file("n2k/fastpacket-engine-crlf.candump.log")));
}

// --- tshark ----------------------------------------------------------------------------------------------------------

// The list as tools/tshark_frames.sh makes it of tshark's fields.
std::string tshark_list(const std::vector<can::Frame>& frames) {
  std::string list;
  for (const can::Frame& frame : frames) {
    char text[100];
    std::snprintf(text, sizeof text, "%lld.%06lld,%u,%d,%d,%d,", static_cast<long long>(frame.time_us / 1'000'000),
                  static_cast<long long>(frame.time_us % 1'000'000), frame.id, frame.extended ? 1 : 0,
                  frame.kind == can::FrameKind::kRemote ? 1 : 0, frame.length);
    list += text;
    for (const std::uint8_t byte : frame.bytes()) {
      std::snprintf(text, sizeof text, "%02x", byte);
      list += text;
    }
    list += '\n';
  }
  return list;
}

TEST(Recordings, TheFrameListsAreThoseOfTshark) {
  std::ifstream table(kFolder + "tshark.csv");
  std::string row;
  std::getline(table, row);
  ASSERT_NE(row.find("TShark (Wireshark) 4.0.17"), std::string::npos);
  int files = 0;
  for (; std::getline(table, row); ++files) {
    std::istringstream cells(row);
    std::string file, frames, crc;
    std::getline(cells, file, ',');
    std::getline(cells, frames, ',');
    std::getline(cells, crc, ',');
    SCOPED_TRACE(file);
    std::vector<can::Frame> got =
        file.starts_with("kinds ") ? capture::make_random_frames(9, 5000, 1) : read_file(file).frames;
    std::erase_if(got, [](const can::Frame& frame) { return frame.kind == can::FrameKind::kError; });
    EXPECT_EQ(got.size(), std::stoul(frames));
    const std::string list = tshark_list(got);
    EXPECT_EQ(crc32(0, reinterpret_cast<const Bytef*>(list.data()), static_cast<uInt>(list.size())), std::stoul(crc));
  }
  EXPECT_EQ(files, 14);
}

// --- libpcap ---------------------------------------------------------------------------------------------------------

// Every packet as libpcap gives it, through our reading of the packet itself.
std::vector<std::string> libpcap_list(const std::string& bytes) {
  FILE* file = fmemopen(const_cast<char*>(bytes.data()), bytes.size(), "rb");
  char said[PCAP_ERRBUF_SIZE];
  pcap_t* pcap = pcap_fopen_offline(file, said);
  EXPECT_NE(pcap, nullptr) << said;
  EXPECT_EQ(pcap_datalink(pcap), DLT_CAN_SOCKETCAN);
  std::vector<std::string> list;
  pcap_pkthdr* head = nullptr;
  const unsigned char* packet = nullptr;
  while (pcap_next_ex(pcap, &head, &packet) == 1) {
    can::Frame frame;
    std::uint32_t interface = 0;
    EXPECT_EQ(capture::read_can_packet(capture::PacketLink::kSocketCan, {packet, head->caplen}, frame, interface),
              capture::PacketKind::kFrame);
    frame.time_us = std::int64_t{head->ts.tv_sec} * 1'000'000 + head->ts.tv_usec;
    frame.line = list.size() + 1;
    list.push_back(capture::show(frame));
  }
  pcap_close(pcap);
  return list;
}

TEST(Recordings, PacketsAreThoseOfLibpcap) {
  for (const char* name : {"j1939-multi-ecu/multi-ecu-a-30s.pcap.zst", "j1939-multi-ecu/multi-ecu-a-30s.pcapng.zst",
                           "n2k/network-a.pcap.zst"}) {
    SCOPED_TRACE(name);
    std::vector<std::string> ours;
    for (const can::Frame& frame : read_file(name).frames) ours.push_back(capture::show(frame));
    EXPECT_EQ(ours, libpcap_list(unpacked(name)));
  }
  std::string written;
  capture::append_pcapng_head(written, {"can0"});
  std::vector<std::string> frames;
  for (const can::Frame& frame : capture::make_random_frames(4, 3000, 1)) {
    capture::append_pcapng(written, std::span(&frame, 1), {"can0"});
    frames.push_back(capture::show(frame));
  }
  EXPECT_EQ(frames, libpcap_list(written));
}

}  // namespace
}  // namespace halfsplit
