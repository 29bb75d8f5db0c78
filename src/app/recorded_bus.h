// SPDX-License-Identifier: Apache-2.0
// What a recording of a bus told, as one entry of a job: who is in it, who of those expected never is, who went quiet
// together, who answered whom. The entry stands on its own: the file it came from may be gone (docs/formats/job.md).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "app/loaded_loom.h"
#include "base/result.h"
#include "evidence/observable.h"

namespace halfsplit::app {

struct QuietTogether {
  enum class End : std::uint8_t { kRestarts, kReturns, kSteady };
  std::vector<circuit::ModuleId> who;        // ids rising
  End end = End::kReturns;                   // they claimed their addresses anew; went on; were not quiet at all
  std::string remark;                        // how often, and in which lines: "3 times: 120-131, 4021-4033"
  std::vector<circuit::ModuleId> meanwhile;  // heard all the while; empty: all that were heard, less `who`
};

struct Answered {
  circuit::ModuleId listener, speaker;
  bool answers = true;
  std::string remark;
};

// A code that a module told on the bus.
struct ToldCode {
  circuit::CodeId code;
  bool past = false;  // told while it was recorded, but no longer at its end; else active
};

struct RecordedBus {
  evidence::Observable tap;  // `bus`, `red`, `black`
  std::vector<circuit::ModuleId> heard, never;
  std::vector<QuietTogether> quiet;
  std::vector<Answered> answered;
  std::vector<ToldCode> codes;
  std::string file;  // where it came from, as told; may be empty
};

// "recording on CAN1 at X9:C X9:D": begins with the word.
[[nodiscard]] bool is_recorded_bus(std::string_view what);
// `shows`: items with semicolons between: "heard VCU + EBS; never TPM; restarts BCM + ICM (3 times: 120-131); returns
// EBS while VCU + BCM; hears EBS from VCU; deaf EBS to VCU; active CODE; past CODE; file morning.log". Errors:
// saw.recording-item, and those of names and buses (evidence/recorded_text.h).
[[nodiscard]] base::Result<RecordedBus> parse_recorded_bus(const LoadedLoom& loom, std::string_view what,
                                                           std::string_view shows);
[[nodiscard]] std::string recorded_what(const LoadedLoom& loom, const RecordedBus& recorded);
[[nodiscard]] std::string recorded_shows(const LoadedLoom& loom, const RecordedBus& recorded);

// One reading for each thing it told.
[[nodiscard]] std::vector<evidence::Observation> readings_of(const RecordedBus& recorded);

}  // namespace halfsplit::app
