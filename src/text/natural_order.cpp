// SPDX-License-Identifier: Apache-2.0
#include "text/natural_order.h"

#include <cstddef>

namespace halfsplit::text {

namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

// The run of digits at `at`, without leading zeros.
std::string_view take_number(std::string_view text, std::size_t& at) {
  while (at < text.size() && text[at] == '0') ++at;
  const std::size_t begin = at;
  while (at < text.size() && is_digit(text[at])) ++at;
  return text.substr(begin, at - begin);
}

int compare_numbers(std::string_view a, std::string_view b) {
  if (a.size() != b.size()) return a.size() < b.size() ? -1 : 1;
  const int order = a.compare(b);
  return order < 0 ? -1 : (order > 0 ? 1 : 0);
}

}  // namespace

bool natural_less(std::string_view a, std::string_view b) {
  std::size_t i = 0, j = 0;
  while (i < a.size() && j < b.size()) {
    if (is_digit(a[i]) && is_digit(b[j])) {
      const int order = compare_numbers(take_number(a, i), take_number(b, j));
      if (order != 0) return order < 0;
    } else if (a[i] != b[j]) {
      return static_cast<unsigned char>(a[i]) < static_cast<unsigned char>(b[j]);
    } else {
      ++i, ++j;
    }
  }
  if (i < a.size() || j < b.size()) return i >= a.size();
  return a < b;
}

}  // namespace halfsplit::text
