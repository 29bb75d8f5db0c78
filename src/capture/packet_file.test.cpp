// SPDX-License-Identifier: Apache-2.0
// Packet files made by hand, byte for byte as the formats' descriptions say. Those that others recorded, and libpcap
// beside this reader, are in tests/captures.
#include "capture/packet_file.h"

#include <gtest/gtest.h>

#include "base/bytes.h"
#include "base/rng.h"
#include "capture/can_packet.h"
#include "capture/random_frames.h"
#include "capture/test_frames.h"
#include "capture/write_recording.h"

namespace halfsplit::capture {
namespace {

std::string bytes_of(std::initializer_list<int> values) {
  std::string bytes;
  for (const int value : values) bytes += static_cast<char>(value);
  return bytes;
}
std::string four(std::uint32_t value, bool big = false) {
  std::string bytes;
  for (int i = 0; i < 4; ++i) bytes += static_cast<char>(value >> (8 * (big ? 3 - i : i)) & 0xFF);
  return bytes;
}
std::string pcap_head(std::uint32_t magic, std::uint32_t link, bool big = false) {
  return four(magic, big) + (big ? bytes_of({0, 2, 0, 4}) : bytes_of({2, 0, 4, 0})) + four(0) + four(0) +
         four(65535, big) + four(link, big);
}
std::string record(std::uint32_t seconds, std::uint32_t fraction, const std::string& packet, bool big = false) {
  const auto length = static_cast<std::uint32_t>(packet.size());
  return four(seconds, big) + four(fraction, big) + four(length, big) + four(length, big) + packet;
}
std::string block(std::uint32_t type, const std::string& body) {
  const auto length = static_cast<std::uint32_t>(body.size() + 12);
  return four(type) + four(length) + body + four(length);
}
std::string section() { return block(0x0A0D0D0A, four(0x1A2B3C4D) + bytes_of({1, 0, 0, 0}) + four(~0U) + four(~0U)); }
std::string interface(int link, const std::string& options = "") {
  return block(1, bytes_of({link, 0, 0, 0}) + four(0) + options);
}
std::string enhanced(std::uint32_t number, std::uint64_t ticks, const std::string& packet) {
  const auto length = static_cast<std::uint32_t>(packet.size());
  return block(6, four(number) + four(static_cast<std::uint32_t>(ticks >> 32)) +
                      four(static_cast<std::uint32_t>(ticks)) + four(length) + four(length) + packet);
}
// 18FEF100 with two bytes
const std::string kPacket = bytes_of({0x98, 0xFE, 0xF1, 0x00, 2, 0, 0, 0, 0x11, 0x22, 0, 0, 0, 0, 0, 0});

Read read_packets(const std::string& bytes) {
  base::OneWorker one;
  return read_all(*read_packet_file(std::make_unique<base::StringBytes>(bytes), one));
}
std::string packets_shown(const std::string& bytes) {
  const Read got = read_packets(bytes);
  return got.frames.empty() ? "none" : show(got.frames.front());
}

TEST(PacketFile, BothByteOrdersAndBothClocksOfPcap) {
  const std::string same = "1600000000123456 1 0 18FEF100 [2] 11 22";
  EXPECT_EQ(packets_shown(pcap_head(0xA1B2C3D4, 227) + record(1600000000, 123456, kPacket)), same);
  EXPECT_EQ(packets_shown(pcap_head(0xA1B2C3D4, 227, true) + record(1600000000, 123456, kPacket, true)), same);
  EXPECT_EQ(packets_shown(pcap_head(0xA1B23C4D, 227) + record(1600000000, 123456789, kPacket)), same);
  EXPECT_EQ(packets_shown(pcap_head(0xA1B23C4D, 227, true) + record(1600000000, 123456789, kPacket, true)), same);
}

TEST(PacketFile, RemoteErrorAndFlexibleFrames) {
  const std::string head = pcap_head(0xA1B2C3D4, 227);
  EXPECT_EQ(packets_shown(head + record(1, 0, bytes_of({0x40, 0, 1, 0x23, 4, 0, 0, 0}))), "1000000 1 0 123 remote [4]");
  EXPECT_EQ(packets_shown(head + record(1, 0, bytes_of({0x20, 0, 0, 4, 8, 0, 0, 0, 0, 4, 0, 0, 0, 0, 0, 0}))),
            "1000000 1 0 error 4 [8] 00 04 00 00 00 00 00 00");
  EXPECT_EQ(packets_shown(head + record(1, 0, bytes_of({0, 0, 1, 0x23, 1, 4, 0, 0, 0xAB}))),
            "1000000 1 0 123 FD [1] AB");
  // CAN FD has no remote frames.
  const Read none = read_packets(head + record(1, 0, bytes_of({0x40, 0, 1, 0x23, 4, 4, 0, 0})));
  EXPECT_TRUE(none.frames.empty());
  EXPECT_EQ(none.recording.damaged, 1U);
  EXPECT_EQ(packets_shown(head + record(1, 0, bytes_of({0, 0, 1, 0x23, 1, 0, 0, 0}) + "A" + std::string(63, '\0'))),
            "1000000 1 0 123 FD [1] 41");  // of an older tap, known by its 72 bytes
}

TEST(PacketFile, CookedCapturesCarryCanBesideOtherThings) {
  const std::string cooked = bytes_of({0, 1, 1, 24, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0});
  const Read one =
      read_packets(pcap_head(0xA1B2C3D4, 113) + record(1, 0, cooked + bytes_of({8, 0}) + std::string(40, 'x')) +
                   record(2, 0, cooked + bytes_of({0, 0x0C}) + kPacket));
  ASSERT_EQ(one.frames.size(), 1U);
  EXPECT_EQ(show(one.frames[0]), "2000000 2 0 18FEF100 [2] 11 22");
  EXPECT_EQ(one.recording.skipped, 1U);
  const auto second = [](int number) {
    return bytes_of({0, 0x0C, 0, 0, 0, 0, 0, number, 1, 24, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0}) + kPacket;
  };
  const Read two = read_packets(pcap_head(0xA1B2C3D4, 276) + record(1, 0, second(7)) + record(1, 0, second(3)) +
                                record(1, 0, second(7)));
  ASSERT_EQ(two.frames.size(), 3U);
  EXPECT_EQ(two.recording.channels, (std::vector<std::string>{"interface 7", "interface 3"}));
  EXPECT_EQ(two.frames[1].channel, 1);
  EXPECT_EQ(two.frames[2].channel, 0);
}

TEST(PacketFile, PacketsThatAreNoFramesArePassedOver) {
  const Read got =
      read_packets(pcap_head(0xA1B2C3D4, 227) + record(1, 0, "short") +
                   record(1, 0, bytes_of({0, 0, 1, 0x23, 9, 0, 0, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9})) +  // nine bytes
                   record(1, 0, bytes_of({0, 0, 1, 0x23, 4, 0, 0, 0, 1, 2})) +                       // two of four
                   record(1, 0, bytes_of({0, 0, 9, 0x23, 0, 0, 0, 0})) +                             // 923 of 11 bits
                   record(1, 0, bytes_of({0, 0, 1, 0x23, 0x80, 0, 0, 0, 1, 2, 3, 4, 5})) +           // CAN XL
                   record(1, 0, kPacket));
  EXPECT_EQ(got.frames.size(), 1U);
  EXPECT_EQ(got.recording.damaged, 4U);
  EXPECT_EQ(got.recording.skipped, 1U);
  EXPECT_EQ(got.recording.first_damage.at(1).line, 2U);
  EXPECT_EQ(got.recording.lines, 6U);
}

TEST(PacketFile, EachInterfaceOfAPcapngHasItsNameClockAndLink) {
  const std::string name = bytes_of({2, 0, 4, 0}) + "can0" + bytes_of({9, 0, 1, 0, 9, 0, 0, 0}) +  // nanoseconds
                           bytes_of({14, 0, 8, 0, 100, 0, 0, 0, 0, 0, 0, 0}) + four(0);            // 100 s later
  const Read got = read_packets(section() + interface(1) + interface(227, name) + interface(227) +
                                enhanced(0, 5, std::string(60, 'e')) + enhanced(1, 1'000'001'999, kPacket) +
                                enhanced(2, 3, kPacket));
  ASSERT_EQ(got.frames.size(), 2U);
  EXPECT_EQ(show(got.frames[0]), "101000001 2 0 18FEF100 [2] 11 22");
  EXPECT_EQ(show(got.frames[1]), "3 3 1 18FEF100 [2] 11 22");
  EXPECT_EQ(got.recording.channels, (std::vector<std::string>{"can0", "interface 2"}));
  EXPECT_EQ(got.recording.skipped, 1U);
  EXPECT_EQ(got.recording.backwards, 1U);
  EXPECT_EQ(got.recording.format, "pcapng");
}

TEST(PacketFile, ClocksOfPowersOfTwo) {
  const std::string clock = bytes_of({9, 0, 1, 0, 0x80 + 10, 0, 0, 0});  // 1024ths of a second
  EXPECT_EQ(packets_shown(section() + interface(227, clock) + enhanced(0, 3 * 1024 + 512, kPacket)),
            "3500000 1 0 18FEF100 [2] 11 22");
}

TEST(PacketFile, SectionsFollowEachOther) {
  const std::string one = section() + interface(227) + enhanced(0, 1, kPacket);
  const Read got = read_packets(one + one);
  EXPECT_EQ(got.frames.size(), 2U);
  EXPECT_EQ(got.recording.channels.size(), 2U);
}

TEST(PacketFile, SimplePacketsOlderPacketsAndUnknownBlocks) {
  const Read got = read_packets(section() + interface(227) + block(0x0BAD, "whatever") + block(3, four(16) + kPacket) +
                                block(2, bytes_of({0, 0, 0, 0}) + four(0) + four(7) + four(16) + four(16) + kPacket));
  ASSERT_EQ(got.frames.size(), 2U);
  EXPECT_EQ(show(got.frames[0]), "0 1 0 18FEF100 [2] 11 22");
  EXPECT_EQ(show(got.frames[1]), "7 2 0 18FEF100 [2] 11 22");
}

TEST(PacketFile, WhatTheTapLostIsInItsStatistics) {
  const std::string lost = bytes_of({5, 0, 8, 0, 12, 0, 0, 0, 0, 0, 0, 0}) + four(0);
  EXPECT_EQ(
      read_packets(section() + interface(227) + enhanced(0, 1, kPacket) + block(5, four(0) + four(0) + four(9) + lost))
          .recording.lost,
      12U);
}

// Cut anywhere: the frames before the cut are there, and it is said that something is missing.
TEST(PacketFile, ATruncatedFileKeepsItsFrames) {
  const std::string pcap = pcap_head(0xA1B2C3D4, 227) + record(1, 0, kPacket) + record(2, 0, kPacket);
  for (std::size_t length = 0; length < pcap.size(); ++length) {
    const Read got = read_packets(pcap.substr(0, length));
    EXPECT_EQ(got.frames.size(), length < 24 + 32 ? 0U : 1U) << length;
    EXPECT_EQ(got.recording.truncated, length != 24 && length != 24 + 32) << length;
  }
  const std::string pcapng = section() + interface(227) + enhanced(0, 1, kPacket) + enhanced(0, 1, kPacket);
  const std::size_t packet = enhanced(0, 1, kPacket).size();
  for (std::size_t cut = 1; cut < packet; ++cut) {
    const Read got = read_packets(pcapng.substr(0, pcapng.size() - cut));
    EXPECT_EQ(got.frames.size(), 1U);
    EXPECT_TRUE(got.recording.truncated);
  }
}

TEST(PacketFile, ABrokenStructureSaysWhere) {
  for (const std::string& broken :
       {four(6) + four(13) + "x", four(6) + four(2) + "xxxx", block(6, "short"), enhanced(9, 1, kPacket),
        block(6, four(0) + four(0) + four(0) + four(99) + four(99) + kPacket)}) {
    const Read got = read_packets(section() + interface(227) + enhanced(0, 1, kPacket) + broken + std::string(64, 'x'));
    EXPECT_EQ(got.frames.size(), 1U);
    ASSERT_TRUE(got.recording.problem);
    EXPECT_EQ(got.recording.problem->code, "capture.broken-packets");
    EXPECT_NE(got.recording.problem->message.find("byte 96"), std::string::npos) << got.recording.problem->message;
  }
  EXPECT_TRUE(
      read_packets(pcap_head(0xA1B2C3D4, 227) + four(0) + four(0) + four(1U << 30) + four(0)).recording.problem);
}

TEST(PacketFile, DeliveringBesideReadingGivesTheSame) {
  const std::vector<can::Frame> frames = make_random_frames(3, 5000, 2);
  std::string bytes;
  append_pcapng_head(bytes, {"can0", "can1"});
  append_pcapng(bytes, frames, {"can0", "can1"});
  base::OneWorker one;
  const auto source = read_packet_file(std::make_unique<base::StringBytes>(bytes), one);
  std::vector<can::Frame> got;
  source->deliver([&](std::span<const can::Frame> some) {
    EXPECT_EQ(source->recording().frames, got.size() + some.size());
    got.insert(got.end(), some.begin(), some.end());
    return true;
  });
  ASSERT_EQ(got.size(), frames.size());
  for (std::size_t i = 0; i < got.size(); ++i) ASSERT_EQ(show(got[i]), show(frames[i]));
  EXPECT_EQ(source->recording().bytes, bytes.size());
}

// Sections of their own interfaces, blocks to be passed over, one longer than a piece, damaged packets: several pieces,
// whoever reads them.
TEST(PacketFile, WhoeverReadsThePiecesTheFramesAreTheSame) {
  base::Rng rng(4);
  std::string bytes;
  std::size_t packets = 0;
  for (int part = 0; part < 40; ++part) {
    const std::uint32_t interfaces = 1 + static_cast<std::uint32_t>(rng.below(3));
    bytes += section();
    for (std::uint32_t i = 0; i < interfaces; ++i)
      bytes += interface(227, bytes_of({2, 0, 4, 0, 'c', 'a', 'n', '0' + static_cast<int>(rng.below(4))}) + four(0));
    for (std::size_t left = rng.below(400); left > 0; --left, ++packets) {
      std::string packet = kPacket;
      packet[3] = static_cast<char>(rng.below(256));
      packet[4] = static_cast<char>(rng.chance(0.05) ? 9 : rng.below(9));
      bytes += enhanced(static_cast<std::uint32_t>(rng.below(interfaces)), 1'600'000'000'000'000 + rng.below(1000000),
                        packet);
      if (rng.chance(0.02)) bytes += block(4, std::string(4 * rng.below(50), 'x'));
    }
    if (part == 20) bytes += block(99, std::string(200'000, 'x'));
  }
  const Read one = read_packets(bytes);
  EXPECT_EQ(one.recording.bytes, bytes.size());
  EXPECT_EQ(one.recording.lines, packets);
  EXPECT_EQ(one.recording.frames + one.recording.damaged, packets);
  EXPECT_GT(one.recording.damaged, 100U);
  EXPECT_EQ(one.recording.channels.size(), 4U);
  FarAhead far_ahead(8);
  const auto source = read_packet_file(std::make_unique<base::StringBytes>(bytes), far_ahead);
  std::size_t at = 0;
  source->deliver([&](std::span<const can::Frame> frames) {
    for (const can::Frame& frame : frames) EXPECT_EQ(show(frame), show(one.frames.at(at++)));
    return true;
  });
  EXPECT_EQ(at, one.frames.size());
  EXPECT_EQ(source->recording().channels, one.recording.channels);
  EXPECT_EQ(source->recording().backwards, one.recording.backwards);
  for (std::size_t i = 0; i < kKeptDamage; ++i)
    EXPECT_EQ(source->recording().first_damage.at(i).line, one.recording.first_damage.at(i).line);
}

// What stands behind the frames that were wanted is not told, however far ahead somebody read.
TEST(PacketFile, EndedEarlyItSaysNothingOfTheEnd) {
  std::string bytes = section() + interface(227);
  for (int i = 0; i < 3000; ++i) bytes += enhanced(0, 1'600'000'000'000'000, kPacket);
  bytes.resize(bytes.size() - 3);
  base::OneWorker one;
  FarAhead far_ahead(8);
  for (base::Workers* workers : {static_cast<base::Workers*>(&one), static_cast<base::Workers*>(&far_ahead)}) {
    const auto source = read_packet_file(std::make_unique<base::StringBytes>(bytes), *workers);
    source->deliver([](std::span<const can::Frame>) { return false; });
    EXPECT_FALSE(source->recording().truncated);
    const auto whole = read_packet_file(std::make_unique<base::StringBytes>(bytes), *workers);
    whole->deliver([](std::span<const can::Frame>) { return true; });
    EXPECT_TRUE(whole->recording().truncated);
    EXPECT_EQ(whole->recording().frames, 2999U);
  }
}

// The usual packet is read on a way of its own; every other one differs from it in a bit or a byte.
TEST(PacketFile, TheUsualPacketIsReadAsEveryOtherIs) {
  base::Rng rng(6);
  std::size_t usual = 0;
  for (int round = 0; round < 20'000; ++round) {
    std::string packet = kPacket;
    packet[4] = 8;
    for (std::uint64_t edits = rng.below(3); edits > 0; --edits)
      packet[rng.below(rng.chance(0.5) ? 6 : packet.size())] = static_cast<char>(rng.below(256));
    if (rng.chance(0.1)) packet.resize(rng.below(17));
    const std::span<const std::uint8_t> bytes{reinterpret_cast<const std::uint8_t*>(packet.data()), packet.size()};
    can::Frame fast{}, slow{};
    std::uint32_t number = 0;
    const PacketKind kind = read_can_packet(PacketLink::kSocketCan, bytes, slow, number);
    if (!read_usual_packet(bytes, fast)) continue;
    ++usual;
    ASSERT_EQ(kind, PacketKind::kFrame);
    ASSERT_EQ(show(fast), show(slow));
  }
  EXPECT_GT(usual, 5'000U);
  EXPECT_LT(usual, 18'000U);
}

}  // namespace
}  // namespace halfsplit::capture
