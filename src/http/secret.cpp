// SPDX-License-Identifier: Apache-2.0
#include "http/secret.h"

#include <sys/random.h>

#include <array>
#include <cstdlib>

namespace halfsplit::http {

std::string make_secret() {
  std::array<unsigned char, 16> bytes{};
  if (::getrandom(bytes.data(), bytes.size(), 0) != static_cast<long>(bytes.size())) std::abort();
  constexpr std::string_view kHex = "0123456789abcdef";
  std::string text;
  for (const unsigned char byte : bytes) {
    text += kHex[byte >> 4U];
    text += kHex[byte & 15U];
  }
  return text;
}

bool is_secret(std::string_view text) {
  return text.size() == 32 && text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

bool same_secret(std::string_view one, std::string_view other) {
  if (one.size() != other.size()) return false;
  unsigned char differs = 0;
  for (std::size_t i = 0; i < one.size(); ++i)
    differs = static_cast<unsigned char>(differs |
                                         (static_cast<unsigned char>(one[i]) ^ static_cast<unsigned char>(other[i])));
  return differs == 0;
}

}  // namespace halfsplit::http
