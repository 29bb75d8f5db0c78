// SPDX-License-Identifier: Apache-2.0
// Descriptions of messages and their signals as values, and a signal's value from the bytes of a frame. Read from open
// descriptions by formats (DBC, KCD); nothing here knows a file.
//
// A place is a bit number: byte * 8 + bit, bit 0 the lowest of its byte. Lowest byte first (little-endian): `start_bit`
// is the signal's lowest bit and it goes up from there. Highest byte first (big-endian): `start_bit` is its highest
// bit, and it goes down within the byte and on at the top of the next.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "can/frame.h"

namespace halfsplit::can {

enum class ByteOrder : std::uint8_t { kLowestFirst, kHighestFirst };
enum class NumberKind : std::uint8_t { kUnsigned, kSigned, kFloat };  // kFloat: 32 or 64 bits of IEEE 754

// Signals that are there only when another one, the selector, has one of these values.
struct Selected {
  std::string by;                                               // name of the selector in the same message
  std::vector<std::pair<std::uint64_t, std::uint64_t>> values;  // first and last, both included
};

struct Signal {
  std::string name;
  std::uint16_t start_bit = 0;
  std::uint16_t length_bits = 1;  // longer than 64: described, but has no value
  ByteOrder order = ByteOrder::kLowestFirst;
  NumberKind number = NumberKind::kUnsigned;
  double factor = 1.0, offset = 0.0;
  std::optional<double> least, most;  // physical
  std::string unit;
  std::vector<std::pair<std::int64_t, std::string>> words;  // of raw values, rising
  bool selector = false;
  std::optional<Selected> selected;
  std::optional<std::uint32_t> spn;
  std::string remark;
};

struct Message {
  std::uint32_t id = 0;
  bool extended = false;
  bool by_group = false;  // J1939: any frame of the same group, whoever sends it
  std::string name;
  std::uint16_t length = 0;          // bytes; 0: not said
  std::vector<std::string> senders;  // names of nodes
  std::optional<double> every_ms;
  std::string bus;
  std::string remark;
  std::vector<Signal> signals;
};

struct Descriptions {
  std::vector<Message> messages;  // in the order of the file
};

// The message that describes a frame: its own identifier, or its J1939 group. None: nothing does.
[[nodiscard]] const Message* find_message(const Descriptions& descriptions, std::uint32_t id, bool extended);

// The bits of a signal as they stand, sign not yet minded. None: longer than 64 bits or beyond the bytes.
[[nodiscard]] std::optional<std::uint64_t> raw_bits(const Signal& signal, std::span<const std::uint8_t> bytes);

struct SignalValue {
  const Signal* signal = nullptr;  // into the message
  std::uint64_t bits = 0;
  double value = 0.0;     // physical: raw * factor + offset
  std::string_view word;  // of the raw value; empty: none. Into the message
};
[[nodiscard]] std::optional<SignalValue> signal_value(const Signal& signal, std::span<const std::uint8_t> bytes);
// All signals that are there: those of other selector values and those beyond the bytes are left out.
[[nodiscard]] std::vector<SignalValue> signal_values(const Message& message, std::span<const std::uint8_t> bytes);

}  // namespace halfsplit::can
