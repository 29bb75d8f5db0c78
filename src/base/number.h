// SPDX-License-Identifier: Apache-2.0
// Numbers as the trade writes and speaks them: 4k7, 0R3, 23.8V, 1M, 120 ohm, 12mA, OL; and back to text.
// Locale plays no part. The decimal mark is a point; a comma between digits is taken as a point ("23,8").
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"

namespace halfsplit::base {

enum class Unit { kNone, kVolt, kAmpere, kOhm, kMinute, kMetre, kSquareMillimetre, kCelsius, kPercent, kWatt, kSecond };

struct Quantity {
  double value = 0.0;       // in the base unit (V, A, ohm, min, m, mm2, degC, %, W, s); meaningless when over_range
  Unit unit = Unit::kNone;  // as written; kNone when no unit was written
  bool over_range = false;  // the meter showed OL
};

// Reads one quantity. Errors: number.empty, number.malformed, number.not-finite, number.unknown-unit.
[[nodiscard]] Result<Quantity> parse_quantity(std::string_view text);

// Shortest decimal text that reads back to the same double; "OL", "nan" never occur.
[[nodiscard]] std::string format_number(double value);
// `digits` significant digits, no exponent between 1e-4 and 1e9.
[[nodiscard]] std::string format_significant(double value, int digits);
// As a meter shows it: "23.80 V", "4.70 kohm", "0.3 ohm", "12.0 mA". At most four significant digits.
[[nodiscard]] std::string format_quantity(double value, Unit unit);
[[nodiscard]] std::string_view unit_symbol(Unit unit);

}  // namespace halfsplit::base
