// SPDX-License-Identifier: Apache-2.0
#include "report/square_code.h"

#include <qrencode.h>

#include <memory>

#include "base/number.h"

namespace halfsplit::report {

std::optional<SquareCode> make_square_code(const std::string& text, std::size_t most_modules) {
  if (text.empty()) return std::nullopt;
  const std::unique_ptr<QRcode, void (*)(QRcode*)> made(
      QRcode_encodeString(text.c_str(), 0, QR_ECLEVEL_L, QR_MODE_8, 1), QRcode_free);
  if (!made || static_cast<std::size_t>(made->width) > most_modules) return std::nullopt;
  SquareCode code;
  code.size = static_cast<std::size_t>(made->width);
  for (std::size_t i = 0; i < code.size * code.size; ++i) code.dark.push_back((made->data[i] & 1U) != 0);
  return code;
}

std::string square_code_svg(const SquareCode& code, double side_mm) {
  const std::string side = base::format_number(side_mm) + "mm", all = std::to_string(code.size + 8);
  std::string path;
  for (std::size_t row = 0; row < code.size; ++row)
    for (std::size_t column = 0; column < code.size; ++column) {
      std::size_t end = column;
      while (end < code.size && code.at(row, end)) ++end;
      if (end == column) continue;
      path += "M" + std::to_string(column + 4) + " " + std::to_string(row + 4) + "h" + std::to_string(end - column) +
              "v1h-" + std::to_string(end - column) + "z";
      column = end;
    }
  return "<svg role=\"img\" aria-label=\"this job, to be read by a machine\" "
         "width=\"" +
         side + "\" height=\"" + side + "\" viewBox=\"0 0 " + all + " " + all + "\"><path d=\"" + path + "\"/></svg>";
}

}  // namespace halfsplit::report
