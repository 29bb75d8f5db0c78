// SPDX-License-Identifier: Apache-2.0
// The reader of wire lists: no input breaks it, and every wire it takes has a column for each end.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "formats/wire_list_import.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto list = halfsplit::formats::read_wire_list_csv("fuzz", text, {});
  if (!list) return 0;
  if (list->paths.size() > list->rows || list->columns.size() < 2) std::abort();
  return 0;
}
