// SPDX-License-Identifier: Apache-2.0
// The reader of profiles: no input breaks it, and what it accepts is written and read back alike.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "formats/profile_text.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto profile = halfsplit::formats::read_profile_text("fuzz", text);
  if (!profile) return 0;
  const auto written = halfsplit::formats::write_profile_text(*profile);
  if (!written || !halfsplit::formats::read_profile_text("again", *written)) std::abort();
  return 0;
}
