// SPDX-License-Identifier: Apache-2.0
#include "tests/bus_twin/can_frame.h"

#include <algorithm>

namespace halfsplit::bus_twin {

namespace {

constexpr std::size_t kStandardHeader = 19;  // SOF, 11 id, RTR, IDE, r0, 4 length
constexpr std::size_t kExtendedHeader = 39;  // SOF, 11 id, SRR, IDE, 18 id, RTR, r1, r0, 4 length
constexpr std::size_t kIdeAt = 13;
constexpr std::size_t kCrcBits = 15;

// x^15 + x^14 + x^10 + x^8 + x^7 + x^4 + x^3 + 1
std::uint16_t crc_step(std::uint16_t crc, Bit bit) {
  const bool invert = ((crc >> 14U) & 1U) != static_cast<unsigned>(bit);
  const auto shifted = static_cast<std::uint16_t>((crc << 1U) & 0x7FFFU);
  return invert ? static_cast<std::uint16_t>(shifted ^ 0x4599U) : shifted;
}

void put(std::vector<Bit>& bits, std::uint32_t value, std::size_t count) {
  for (std::size_t k = count; k-- > 0;) bits.push_back(((value >> k) & 1U) != 0 ? kRecessive : kDominant);
}

std::vector<Bit> plain_bits(const Frame& frame) {
  std::vector<Bit> bits;
  put(bits, 0, 1);
  if (frame.extended) {
    put(bits, frame.id >> 18U, 11);
    put(bits, 3, 2);  // SRR and IDE
    put(bits, frame.id & 0x3FFFFU, 18);
    put(bits, frame.remote ? 4 : 0, 3);  // RTR, r1, r0
  } else {
    put(bits, frame.id, 11);
    put(bits, frame.remote ? 4 : 0, 3);  // RTR, IDE, r0
  }
  put(bits, frame.length, 4);
  for (std::size_t k = 0; k < frame.length && !frame.remote; ++k) put(bits, frame.data[k], 8);
  std::uint16_t crc = 0;
  for (const Bit bit : bits) crc = crc_step(crc, bit);
  put(bits, crc, kCrcBits);
  return bits;
}

}  // namespace

Sequence write_sequence(const Frame& frame) {
  const std::size_t last_of_arbitration = frame.extended ? 32 : 12;  // the RTR bit
  Sequence sequence;
  std::size_t run = 0;
  std::size_t place = 0;
  for (const Bit bit : plain_bits(frame)) {
    run = !sequence.bits.empty() && sequence.bits.back() == bit ? run + 1 : 1;
    sequence.bits.push_back(bit);
    sequence.is_stuff.push_back(0);
    if (place++ == last_of_arbitration) sequence.arbitration_end = sequence.bits.size();
    if (run < 5) continue;
    sequence.bits.push_back(bit == kDominant ? kRecessive : kDominant);
    sequence.is_stuff.push_back(1);
    run = 1;
  }
  return sequence;
}

void SequenceReader::restart() {
  count_ = header_ = total_ = run_ = 0;
  last_ = kRecessive;
  crc_ = 0;
}

SequenceReader::Step SequenceReader::take(Bit bit) {
  const bool stuff = run_ == 5;
  if (stuff && bit == last_) return Step::kStuffError;
  run_ = bit == last_ && count_ > 0 ? run_ + 1 : 1;
  last_ = bit;
  if (!stuff) {
    bits_[count_++] = bit;
    crc_ = crc_step(crc_, bit);  // over its own sequence too: zero if it fits
    note_lengths();
  }
  return total_ != 0 && count_ == total_ && run_ < 5 ? Step::kDone : Step::kMore;
}

void SequenceReader::note_lengths() {
  if (count_ == kIdeAt + 1) header_ = bits_[kIdeAt] == kRecessive ? kExtendedHeader : kStandardHeader;
  if (header_ != 0 && count_ == header_) total_ = header_ + std::size_t{8} * frame().length + kCrcBits;
}

std::uint32_t SequenceReader::number(std::size_t from, std::size_t bits) const {
  std::uint32_t value = 0;
  for (std::size_t k = 0; k < bits; ++k) value = 2 * value + bits_[from + k];
  return value;
}

Frame SequenceReader::frame() const {
  Frame frame;
  frame.extended = header_ == kExtendedHeader;
  frame.id = frame.extended ? (number(1, 11) << 18U) + number(14, 18) : number(1, 11);
  frame.remote = bits_[frame.extended ? 32 : 12] == kRecessive;
  frame.length = frame.remote ? 0 : static_cast<std::uint8_t>(std::min<std::uint32_t>(8, number(header_ - 4, 4)));
  for (std::size_t k = 0; k < frame.length && count_ == total_; ++k) {
    frame.data[k] = static_cast<std::uint8_t>(number(header_ + 8 * k, 8));
  }
  return frame;
}

}  // namespace halfsplit::bus_twin
