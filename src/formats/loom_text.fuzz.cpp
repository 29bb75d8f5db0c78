// SPDX-License-Identifier: Apache-2.0
// The loom reader on any bytes: it ends, and gives a loom that can be flattened and judged, or errors with places.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "circuit/netlist.h"
#include "circuit/oddities.h"
#include "formats/loom_text.h"
#include "formats/point_text.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace halfsplit;
  const std::string text(reinterpret_cast<const char*>(data), size);
  const base::Result<circuit::Loom> read = formats::read_loom_text("fuzz", text);
  if (!read.ok()) {
    if (!base::has_error(read.diagnostics())) std::abort();
    (void)base::format_diagnostics(read.diagnostics());
    return 0;
  }
  if (base::has_error(read.diagnostics())) std::abort();
  for (const circuit::Wire& wire : read->wires) {
    if (!formats::read_point(*read, formats::format_end_point(*read, wire.from)).ok()) std::abort();
    if (read->wires.size() > 50) break;  // each reading indexes the whole loom
  }
  (void)circuit::build_netlist(*read);
  (void)circuit::find_oddities(*read);
  return 0;
}
