// SPDX-License-Identifier: Apache-2.0
// A text as a QR code (ISO/IEC 18004): a square of dark and light modules. Error correction level L; alphanumeric where
// the text allows it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace halfsplit::report {

struct SquareCode {
  std::size_t size = 0;    // modules to a side, without the light border of four that belongs around it
  std::vector<bool> dark;  // row by row
  [[nodiscard]] bool at(std::size_t row, std::size_t column) const { return dark[row * size + column]; }
};

// None: it would take more than `most_modules` to a side (a telephone reads about three to a printed millimetre).
[[nodiscard]] std::optional<SquareCode> make_square_code(const std::string& text, std::size_t most_modules);
// As SVG of that many millimetres to a side, border included.
[[nodiscard]] std::string square_code_svg(const SquareCode& code, double side_mm);

}  // namespace halfsplit::report
