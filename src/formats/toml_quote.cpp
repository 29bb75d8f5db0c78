// SPDX-License-Identifier: Apache-2.0
#include "formats/toml_quote.h"

namespace halfsplit::formats {

namespace {

void append_escaped(std::string& out, char c) {
  constexpr const char* kHex = "0123456789ABCDEF";
  const auto byte = static_cast<unsigned char>(c);
  switch (c) {
    case '\\':
      out += "\\\\";
      return;
    case '"':
      out += "\\\"";
      return;
    case '\n':
      out += "\\n";
      return;
    case '\r':
      out += "\\r";
      return;
    case '\t':
      out += "\\t";
      return;
    default:
      if (byte >= 0x20U && byte != 0x7FU) {
        out += c;
        return;
      }
      out += std::string("\\u00") + kHex[byte >> 4U] + kHex[byte & 0xFU];
  }
}

}  // namespace

std::string toml_quoted(std::string_view text, bool lines) {
  std::string out = lines ? "\"\"\"\n" : "\"";
  for (const char c : text) {
    if (lines && c == '\n')
      out += '\n';
    else
      append_escaped(out, c);
  }
  return out + (lines ? "\"\"\"" : "\"");
}

}  // namespace halfsplit::formats
