// SPDX-License-Identifier: Apache-2.0
// A loom read, flattened and with all its faults listed, kept with a fingerprint of its text. Stays in place: others
// hold references into it.
#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "app/operation.h"
#include "base/result.h"
#include "circuit/netlist.h"
#include "fault/fault.h"

namespace halfsplit::app {

struct LoadedLoom {
  std::string path;
  std::string print;        // fingerprint of all its files' texts
  std::string rates_print;  // of what the book taught its rates; empty: nothing, the default rates
  circuit::Loom loom;
  circuit::Netlist netlist;
  fault::Universe universe;
  std::vector<base::Diagnostic> warnings;
  // Each thing of the drawing with a print of what it says, so that a job can tell what changed.
  std::vector<std::pair<std::string, std::string>> drawn;
};

// What the book had taught when a job of it was closed, its own lesson not among it; empty: what it has taught by now.
struct TaughtUntil {
  std::int64_t job = 0;
  std::string closed_at;
};

// Errors: loom.wire-list, and those of reading.
[[nodiscard]] base::Result<std::shared_ptr<LoadedLoom>> load_loom(Context& context, const std::string& path,
                                                                  const TaughtUntil& until = {});
// A wire list by its name, which `import` makes a loom of: loom.wire-list.
[[nodiscard]] base::Result<base::Done> refuse_wire_list(const std::string& path);

// FNV-1a, 64 bits, as hex (Fowler, Noll, Vo; constants from memory). A fingerprint, not a seal.
[[nodiscard]] std::string fingerprint(std::string_view text);

constexpr std::size_t kMostBytes = std::size_t{16} << 20U;

}  // namespace halfsplit::app
