// SPDX-License-Identifier: Apache-2.0
// Any bytes as a KCD file: never a crash, every refusal says why, and every signal taken can be asked for its value.
#include <cstdint>
#include <string_view>

#include "base/check.h"
#include "formats/kcd_text.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  const auto file = formats::read_kcd_text("fuzz", std::string_view(reinterpret_cast<const char*>(data), size));
  (void)base::format_diagnostics(file.diagnostics());
  if (!file.ok()) {
    HS_CHECK(base::has_error(file.diagnostics()), "a refusal says why");
    return 0;
  }
  HS_CHECK(!file->descriptions.messages.empty(), "a description describes something");
  for (const can::Message& message : file->descriptions.messages) {
    HS_CHECK(can::find_message(file->descriptions, message.id, message.extended) != nullptr, "a message is found");
    for (const std::size_t length : {std::size_t{0}, std::size_t{8}, std::size_t{64}}) {
      const std::vector<std::uint8_t> bytes(length, 0xA5);
      HS_CHECK(can::signal_values(message, bytes).size() <= message.signals.size(), "a signal has one value");
    }
  }
  return 0;
}
