// SPDX-License-Identifier: Apache-2.0
// Any bytes as a meter file: never a crash, every refusal says why and where, and what is read can be written and read
// again to an equal profile.
#include <cstdint>
#include <string_view>

#include "base/check.h"
#include "formats/meter_text.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  const auto meter = formats::read_meter_text("fuzz", std::string_view(reinterpret_cast<const char*>(data), size));
  if (!meter.ok()) {
    HS_CHECK(base::has_error(meter.diagnostics()), "a refusal says why");
    (void)base::format_diagnostics(meter.diagnostics());
    return 0;
  }
  for (const auto instrument : {meters::Instrument::kVolts, meters::Instrument::kOhms, meters::Instrument::kClamp}) {
    HS_CHECK(!meters::ranges_of(*meter, instrument).empty(), "an instrument has a range");
    HS_CHECK(meters::meter_sigma(*meter, instrument, 1.0) >= 0.0, "a spread is a number");
  }
  const auto again = formats::read_meter_text("fuzz", formats::write_meter_text(*meter));
  HS_CHECK(again.ok() && *again == *meter, "what was written reads back equal");
  return 0;
}
