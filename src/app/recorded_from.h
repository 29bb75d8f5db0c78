// SPDX-License-Identifier: Apache-2.0
// From what a recording tells of addresses to what it tells of the modules of a loom: who is who, who of those expected
// is never heard, which silences belong together, who answers whom, which codes were told. Everything that is left out
// is said (docs/capture.md, "As evidence").
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "app/recorded_bus.h"
#include "capture/findings.h"

namespace halfsplit::app {

struct RecordedFrom {
  RecordedBus recorded;
  std::vector<std::optional<circuit::ModuleId>> modules;  // of each sender of the findings; none: a stranger
  std::vector<base::Diagnostic> notes;                    // warnings: what is left out, and why
};

// Who would be heard on that bus in a vehicle in order: who sits on it, and who sends messages over gateways to one
// that does, or is missed by a monitor of one. Ids rising.
[[nodiscard]] std::vector<circuit::ModuleId> expected_on(const LoadedLoom& loom, circuit::BusId bus);

// `tap`: bus and points. `told`: source address or 11-bit identifier to module, as the user says. `awake`: of
// those expected who lives in the healthy vehicle as it was recorded. `file`: for the entry.
[[nodiscard]] RecordedFrom recorded_from(const LoadedLoom& loom, const evidence::Observable& tap,
                                         const capture::Findings& findings,
                                         const std::map<std::uint32_t, circuit::ModuleId>& told,
                                         const std::vector<circuit::ModuleId>& awake, const std::string& file);

}  // namespace halfsplit::app
