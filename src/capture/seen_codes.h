// SPDX-License-Identifier: Apache-2.0
// Trouble codes of a recording: DM1, DM2 and their kind by source, diagnostic replies by identifier; when first and
// last told, and when they came and went.
#pragma once

#include <array>
#include <vector>

#include "can/iso_tp.h"
#include "can/transport.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::size_t kMostCodes = 2048;
constexpr std::size_t kMostReporters = 2048;

class SeenCodes {
 public:
  // One report: a frame, or a long message put together.
  void add(const SenderKey& source, std::uint32_t pgn, std::span<const std::uint8_t> bytes, const Mark& mark);
  void add_reply(const can::IsoTpMessage& message, const Mark& mark);
  void tell(Findings& findings) const;

 private:
  struct Entry {
    SeenCode seen;
    std::uint64_t in_report = 0;  // number of the last report of its source that told it
  };
  struct Reporter {
    SeenLamps lamps;
    std::vector<std::size_t> codes;   // entries
    std::vector<std::uint8_t> bytes;  // of its last report; empty: not kept
    std::vector<std::size_t> told;    // entries that one told
  };
  Reporter* reporter(const SenderKey& source, std::uint32_t pgn);
  void add_again(Reporter& from, const Mark& mark);
  void see(Reporter& reporter, const can::TroubleCode& code, const Mark& mark);

  std::vector<Reporter> reporters_;
  std::array<std::uint16_t, 256> last_of_ = {};  // the reporter last found, by the lower byte of its number
  std::vector<Entry> entries_;
  std::vector<SeenDiagnosticCode> replied_;
  std::uint64_t not_kept_ = 0;
};

}  // namespace halfsplit::capture
