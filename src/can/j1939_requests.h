// SPDX-License-Identifier: Apache-2.0
// Who asks whom for what, and what is answered: groups 59904 (request) and 59392 (acknowledgement), SAE J1939-21, 5.4.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

namespace halfsplit::can {

// The group asked for (first three bytes, lowest first); none when there are fewer than three.
[[nodiscard]] std::optional<std::uint32_t> read_request(std::span<const std::uint8_t> bytes);

enum class AcknowledgementKind : std::uint8_t { kDone, kNotKnown, kDenied, kBusy, kOther };

struct Acknowledgement {
  AcknowledgementKind kind = AcknowledgementKind::kOther;
  std::uint8_t control = 0;         // as sent
  std::uint8_t group_function = 0;  // 255: none
  std::uint8_t address = 0;         // whom it answers; 255 in older modules: not said
  std::uint32_t pgn = 0;            // which group it is about
};
// None when there are fewer than eight bytes.
[[nodiscard]] std::optional<Acknowledgement> read_acknowledgement(std::span<const std::uint8_t> bytes);
[[nodiscard]] std::string_view acknowledgement_word(AcknowledgementKind kind);

}  // namespace halfsplit::can
