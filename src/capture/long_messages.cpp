// SPDX-License-Identifier: Apache-2.0
#include "capture/long_messages.h"

#include <algorithm>
#include <tuple>

namespace halfsplit::capture {

void LongMessageCounts::add(const can::TransportMessage& message, const Mark& first, const Mark& last) {
  auto found = std::find_if(kinds_.begin(), kinds_.end(), [&](const LongMessages& k) {
    return k.channel == message.channel && k.from == message.source && k.to == message.destination &&
           k.pgn == message.pgn;
  });
  if (found == kinds_.end()) {
    if (kinds_.size() == kMostLongKinds) {
      ++not_kept_;
      return;
    }
    found = kinds_.emplace(kinds_.end());
    found->channel = message.channel;
    found->from = message.source;
    found->to = message.destination;
    found->pgn = message.pgn;
    found->first = first;
  }
  ++found->begun;
  found->last = last;
  found->largest_bytes = std::max<std::uint32_t>(found->largest_bytes, message.size);
  if (message.end == can::TransportEnd::kComplete) {
    ++found->complete;
    return;
  }
  ++(message.end == can::TransportEnd::kAborted ? found->aborted : found->incomplete);
  if (found->first_failed.line == 0) found->first_failed = first;
}

void LongMessageCounts::tell(Findings& findings) const {
  findings.not_kept += not_kept_;
  findings.long_messages = kinds_;
  std::sort(findings.long_messages.begin(), findings.long_messages.end(),
            [](const LongMessages& a, const LongMessages& b) {
              return std::tie(a.channel, a.from, a.to, a.pgn) < std::tie(b.channel, b.from, b.to, b.pgn);
            });
}

}  // namespace halfsplit::capture
