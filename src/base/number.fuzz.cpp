// SPDX-License-Identifier: Apache-2.0
// Any bytes as a quantity: never a crash, never a number that is not finite, and what is read survives being written.
#include <cmath>
#include <cstdint>
#include <string_view>

#include "base/number.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit::base;
  const auto read = parse_quantity(std::string_view(reinterpret_cast<const char*>(data), size));
  if (!read.ok()) {
    HS_CHECK(has_error(read.diagnostics()), "a refusal says why");
    return 0;
  }
  HS_CHECK(std::isfinite(read->value), "a quantity is finite");
  const auto again = parse_quantity(format_number(read->value));
  HS_CHECK(again.ok() && again->value == read->value, "what was read can be written and read again");
  (void)format_quantity(read->value, read->unit);
  return 0;
}
