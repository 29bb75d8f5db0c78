// SPDX-License-Identifier: Apache-2.0
// What `decode` tells of one thing: rows for people, fields for programs. A piece of text is tried by each reader in
// turn; none of them takes what it does not know.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "app/operation.h"
#include "can/frame.h"
#include "can/signals.h"

namespace halfsplit::app {

struct Decoded {
  Json fields = Json::object();
  std::vector<std::pair<std::string, std::string>> rows;  // label, text; without a label: goes on from the row above
  void row(std::string label, std::string text) { rows.emplace_back(std::move(label), std::move(text)); }
};
[[nodiscard]] std::string decoded_text(const Decoded& decoded);

// "18FEF100", "0x7E8"; "18FECA0B#40FF5B000301FFFF". `descriptions`: of a DBC or KCD file; none: not given.
[[nodiscard]] std::optional<Decoded> decode_frame(std::string_view text, const can::Descriptions* descriptions);
// "SPN 639 FMI 9", "FMI 5", "SPN 168", "PGN 65226", "address 0x0B", "NAME 8EF2DDE800966440", "status 2F".
[[nodiscard]] std::optional<Decoded> decode_number(std::string_view text);
// "U0100", "P0562-16", "C1 00 87" (bytes of a code: two to four).
[[nodiscard]] std::optional<Decoded> decode_code(std::string_view text);
// "24N", "24N:3", "15-pin 4".
[[nodiscard]] std::optional<Decoded> decode_socket(std::string_view text);

// Bytes of a message of a J1939 group, and of a diagnostic message.
void tell_group_bytes(std::uint32_t pgn, std::span<const std::uint8_t> bytes, Decoded& decoded);
void tell_diagnostic_bytes(std::span<const std::uint8_t> bytes, Decoded& decoded);
void tell_name(std::uint64_t name, Decoded& decoded);
void tell_failure_mode(std::uint8_t fmi, Decoded& decoded);
[[nodiscard]] std::string hex_text(std::uint64_t value, int digits);  // "0x0FECA"
// Digits only, an even number of them, blanks between allowed; none: something else stands there.
[[nodiscard]] std::optional<std::vector<std::uint8_t>> bytes_of_hex(std::string_view text);
// 65226, 0xFECA. None: no such number, or above `most`.
[[nodiscard]] std::optional<std::uint32_t> whole_number(std::string_view text, std::uint32_t most);

}  // namespace halfsplit::app
