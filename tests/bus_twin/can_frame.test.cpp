// SPDX-License-Identifier: Apache-2.0
// Frames against bits that real controllers put on a real bus: recordings of a receive pin at 4 MHz, 125 kbit/s
// (sigrokproject/sigrok-dumps, can/microchip_mcp2515dm-bm, commit 0ad13477abc9, public domain), sampled once a bit with
// resynchronisation at falling edges, from start of frame to the ten recessive bits behind the acknowledgement. What
// each recording holds is said by its README (id, data) and the decoder of sigrok-cli.
#include "tests/bus_twin/can_frame.h"

#include <gtest/gtest.h>

#include <string>

#include "base/rng.h"
#include "tests/bus_twin/recorded_frames.h"

namespace halfsplit::bus_twin {
namespace {

std::string text_of(const std::vector<Bit>& bits) {
  std::string text;
  for (const Bit bit : bits) text += bit == kDominant ? '0' : '1';
  return text;
}

// Reads until something is decided; `read` tells how many bits that took.
SequenceReader::Step read_all(SequenceReader& reader, const std::string& bits, std::size_t& read) {
  reader.restart();
  for (read = 0; read < bits.size();) {
    const SequenceReader::Step step = reader.take(bits[read++] == '0' ? kDominant : kRecessive);
    if (step != SequenceReader::Step::kMore) return step;
  }
  return SequenceReader::Step::kMore;
}

const std::string kBehind = "10" + std::string(1 + 7 + 3 - 1, '1');  // delimiter, acknowledged, delimiter, end, pause

TEST(CanFrame, RecordedFramesAreRead) {
  for (const Recorded& recorded : kRecorded) {
    SCOPED_TRACE(recorded.bits);
    SequenceReader reader;
    std::size_t read = 0;
    ASSERT_EQ(read_all(reader, recorded.bits, read), SequenceReader::Step::kDone);
    EXPECT_TRUE(reader.crc_fits());
    EXPECT_EQ(reader.frame().id, recorded.id);
    EXPECT_EQ(reader.frame().extended, recorded.extended);
    EXPECT_EQ(std::string(recorded.bits).substr(read), kBehind);
  }
  SequenceReader reader;
  std::size_t read = 0;
  read_all(reader, kRecorded[0].bits, read);
  EXPECT_EQ(reader.frame(), (Frame{0x222, false, false, 5, {0x00, 0x11, 0x22, 0x33, 0x44}}));
  read_all(reader, kRecorded[1].bits, read);
  EXPECT_EQ(reader.frame(), (Frame{0x11223344, true, false, 7, {0x00, 0x11, 0x22, 0x33, 0x44, 0x55, 0x66}}));
}

TEST(CanFrame, RecordedFramesAreWritten) {
  for (const Recorded& recorded : kRecorded) {
    SCOPED_TRACE(recorded.bits);
    SequenceReader reader;
    std::size_t read = 0;
    read_all(reader, recorded.bits, read);
    EXPECT_EQ(text_of(write_sequence(reader.frame()).bits) + kBehind, recorded.bits);
  }
}

Frame random_frame(base::Rng& rng) {
  Frame frame;
  frame.extended = rng.chance(0.5);
  frame.id = static_cast<std::uint32_t>(rng.below(frame.extended ? 1U << 29U : 1U << 11U));
  frame.length = static_cast<std::uint8_t>(rng.below(9));
  const bool even = rng.chance(0.3);  // long runs need stuff bits
  for (std::size_t k = 0; k < frame.length; ++k) {
    frame.data[k] = static_cast<std::uint8_t>(even ? 255 * rng.below(2) : rng.below(256));
  }
  return frame;
}

TEST(CanFrame, WhatIsWrittenIsRead) {
  base::Rng rng(11);
  for (int round = 0; round < 2'000; ++round) {
    const Frame frame = random_frame(rng);
    const Sequence sequence = write_sequence(frame);
    const std::string bits = text_of(sequence.bits);
    SCOPED_TRACE(bits);
    EXPECT_EQ(bits.find("000000"), std::string::npos);
    EXPECT_EQ(bits.find("111111"), std::string::npos);
    SequenceReader reader;
    std::size_t read = 0;
    ASSERT_EQ(read_all(reader, bits, read), SequenceReader::Step::kDone);
    EXPECT_EQ(read, bits.size());
    EXPECT_TRUE(reader.crc_fits());
    EXPECT_EQ(reader.frame(), frame);
  }
}

// One wrong bit is never taken for a good frame: a stuff error, or a CRC that does not fit.
TEST(CanFrame, OneWrongBitIsFound) {
  base::Rng rng(12);
  for (int round = 0; round < 2'000; ++round) {
    const Frame frame = random_frame(rng);
    std::string bits = text_of(write_sequence(frame).bits);
    char& bit = bits[1 + rng.below(bits.size() - 1)];
    bit = bit == '0' ? '1' : '0';
    SCOPED_TRACE(bits);
    SequenceReader reader;
    std::size_t read = 0;
    const SequenceReader::Step step = read_all(reader, bits + kBehind, read);
    const bool good = step == SequenceReader::Step::kDone && reader.crc_fits() && read == bits.size();
    EXPECT_FALSE(good);
  }
}

}  // namespace
}  // namespace halfsplit::bus_twin
