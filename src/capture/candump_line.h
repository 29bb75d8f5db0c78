// SPDX-License-Identifier: Apache-2.0
// One line of a text log as candump of can-utils prints it, in any of its forms:
//
//   (1600000000.123456) can0 18FEF100#0011223344556677       log: identifier, '#', bytes; "#R", "#R8" a remote frame;
//   (1600000000.123456) can0 123##1AABBCC                      "##" and a digit of flags: CAN FD; perhaps R or T behind
//   7 (1600000000.123456) can0 18FEF100#00112233             the same with a running number ahead
//     can0  18FEF100   [8]  00 11 22 33 44 55 66 77          console: "[08]", two digits, is CAN FD
//    (000.123456)  can0  RX - -  123   [2]  11 22   '."'     console with time, direction and flags, characters
//     can0  20000004   [8]  00 04 00 00 00 00 00 00   ERRORFRAME
//   <0x18fef100> [8] 00 11 22 33 44 55 66 77                 older console
//
// Source: candump(1) of can-utils 2020.11, and recordings of tests/data/captures. Pure; knows no other lines.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "can/frame.h"

namespace halfsplit::capture {

enum class LineKind : std::uint8_t {
  kFrame,
  kNothing,  // empty, a comment, a heading, what candump -e adds below an error frame
  kLoss,     // candump -d: "DROPCOUNT: dropped 3 CAN frames on ..."
  kDamaged,
};

enum class LineTime : std::uint8_t {
  kNone,
  kShort,  // fewer than ten digits of seconds: counts from the first frame or from the frame ahead
  kWide,   // ten digits or more: since 1970, or since the start where the number is small
  kDate,   // (2020-09-13 12:26:40.123456), the local time of the tap, read as if it were UTC
};

enum class Flaw : std::uint8_t {
  kNone,
  kNotALine,
  kTime,
  kIdentifier,
  kIdentifierTooLarge,
  kByte,
  kHalfByte,
  kTooManyBytes,
  kBytesMissing,
  kFlexibleLength,
  kRemoteLength,
  kFlexibleRemote,
  kErrorRemote,
  kTrailing,
  kCut,
  kTooLong,
  kManyChannels,
};

struct Line {
  LineKind kind = LineKind::kNothing;
  LineTime time = LineTime::kNone;
  Flaw flaw = Flaw::kNone;
  bool log_form = false;
  std::uint32_t lost = 0;    // of kLoss
  const char* at = nullptr;  // where the flaw is
  std::string_view channel;  // into the text; empty: the line names none
};

// Reads the line that begins at `begin` into `frame` (all but line and channel; time_us is what the line says) and
// returns the start of the next line. The character before `end` must be a '\n'.
[[nodiscard]] const char* read_candump_line(const char* begin, const char* end, can::Frame& frame, Line& line);

// "not a hexadecimal digit: \"x\"": the flaw in words, with what stands there. `line_end` is the end of the line.
[[nodiscard]] std::string describe_flaw(Flaw flaw, const char* at, const char* line_end);

// Lengths a CAN FD frame can have (ISO 11898-1:2015, table of DLC): 0..8, 12, 16, 20, 24, 32, 48, 64.
[[nodiscard]] bool is_flexible_length(std::size_t bytes);

}  // namespace halfsplit::capture
