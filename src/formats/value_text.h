// SPDX-License-Identifier: Apache-2.0
// Single values as a loom writes them: numbers with the unit a key asks for, wire sizes as AWG, colours (IEC 60757),
// lists of cavities, and the names themselves.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "base/number.h"
#include "formats/text_problem.h"

namespace halfsplit::formats {

template <class T>
using Parsed = std::variant<T, TextProblem>;

// In the base unit of `wanted`; a number without a unit is taken to be in it. Sizes may be "AWG18", times "30 s".
// `wanted` kNone: no unit may stand there, except degC ("at" of a temperature curve).
// Problems: bad-number, bad-unit.
[[nodiscard]] Parsed<double> parse_number(std::string_view text, base::Unit wanted);

// Copper area of an American wire gauge, mm2; "AWG18", "18 AWG", "AWG 2/0", "2/0". None when the text is no gauge.
[[nodiscard]] std::optional<double> parse_awg(std::string_view text);

// "RD/WH" from "RD/WH" or "RD-WH". Problem: unknown-colour.
[[nodiscard]] Parsed<std::string> parse_colour(std::string_view text);
[[nodiscard]] const std::vector<std::string_view>& colour_codes();

// "1-24", "1,2,5-8", "A1-A8,B"; "B1-A9" is refused. Problems: bad-pins, duplicate-cavity.
[[nodiscard]] Parsed<std::vector<std::string>> parse_cavities(std::string_view text);
inline constexpr std::size_t kMostCavities = 2000;  // of one connector

// What is wrong with a name, or nothing. Dots are refused unless `dots`.
[[nodiscard]] std::optional<TextProblem> check_name(std::string_view name, bool dots = false);

[[nodiscard]] std::string_view unit_name(base::Unit unit);  // "minutes", "mm2": as the format's tables name it

}  // namespace halfsplit::formats
