// SPDX-License-Identifier: Apache-2.0
// Classical CAN data frames as bits on the bus, there and back: ISO 11898-1, frame formats, CRC sequence, bit stuffing
// (clause names from memory; checked against recorded frames, can_frame.test.cpp). Part of the bit-by-bit twin; knows
// nothing of src/can.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace halfsplit::bus_twin {

enum Bit : std::uint8_t { kDominant = 0, kRecessive = 1 };

struct Frame {
  std::uint32_t id = 0;
  bool extended = false;  // 29 bits instead of 11
  bool remote = false;    // asks for data, carries none
  std::uint8_t length = 0;
  std::array<std::uint8_t, 8> data{};
  friend bool operator==(const Frame&, const Frame&) = default;
};

// From start of frame to the end of the CRC sequence, stuff bits included. The fixed bits behind it are the sender's.
struct Sequence {
  std::vector<Bit> bits;
  std::vector<char> is_stuff;
  std::size_t arbitration_end = 0;  // place behind the RTR bit
};
[[nodiscard]] Sequence write_sequence(const Frame& frame);

// Takes the same bits one at a time.
class SequenceReader {
 public:
  enum class Step : std::uint8_t { kMore, kDone, kStuffError };
  void restart();
  Step take(Bit bit);
  [[nodiscard]] bool crc_fits() const { return crc_ == 0; }
  [[nodiscard]] Frame frame() const;  // after kDone

 private:
  static constexpr std::size_t kLongest = 39 + 64 + 15;
  void note_lengths();
  [[nodiscard]] std::uint32_t number(std::size_t from, std::size_t bits) const;

  std::array<Bit, kLongest> bits_{};
  std::size_t count_ = 0;
  std::size_t header_ = 0;  // bits before the data, 0 while not known
  std::size_t total_ = 0;   // 0 while not known
  std::size_t run_ = 0;     // of equal bits up to now
  Bit last_ = kRecessive;
  std::uint16_t crc_ = 0;
};

}  // namespace halfsplit::bus_twin
