// SPDX-License-Identifier: Apache-2.0
// Any bytes as a packed recording, or as a recording: what comes out is bounded, and ends.
#include <cstdint>
#include <string>

#include "base/bytes.h"
#include "base/check.h"
#include "capture/open_recording.h"
#include "capture/test_frames.h"
#include "capture/unpack.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  constexpr std::size_t kEnough = 4'000'000;
  base::OneWorker one;
  const std::string bytes(reinterpret_cast<const char*>(data), size);
  for (const capture::Packing packing : {capture::Packing::kGzip, capture::Packing::kZstd}) {
    const auto packed = capture::unpack(std::make_unique<base::StringBytes>(bytes), packing);
    std::string some(10'000, ' ');
    std::size_t total = 0;
    for (std::size_t got = packed->read(some); got > 0 && total < kEnough; got = packed->read(some)) total += got;
    HS_CHECK(packed->taken() <= size, "no more is taken than there is");
  }
  const auto opened = capture::open_recording(std::make_unique<base::StringBytes>(bytes), one, "fuzz");
  if (!opened.ok()) HS_CHECK(!opened.diagnostics().front().hint.empty() || size == 0, "a refusal says what to do");
  return 0;
}
