// SPDX-License-Identifier: Apache-2.0
// Any bytes as text of another program: what is taken for another encoding becomes valid UTF-8, and UTF-8 stays.
#include <cstdint>
#include <string_view>

#include "base/check.h"
#include "text/encodings.h"
#include "text/utf8.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  const text::Decoded decoded = text::decode_text(std::string_view(reinterpret_cast<const char*>(data), size));
  if (!decoded.from.empty()) HS_CHECK(!text::find_invalid_utf8(decoded.text), "decoded text is UTF-8");
  return 0;
}
