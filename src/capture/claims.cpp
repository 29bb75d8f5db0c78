// SPDX-License-Identifier: Apache-2.0
#include "capture/claims.h"

#include <algorithm>

#include "can/j1939_id.h"
#include "can/j1939_name.h"

namespace halfsplit::capture {

namespace {

// Somebody claimed it, another did, and the first insisted.
bool contested(const std::vector<Claim>& claims) {
  for (const Claim& a : claims)
    for (const Claim& b : claims)
      if (a.name != b.name && a.first.line < b.first.line && a.last.line > b.first.line) return true;
  return false;
}

}  // namespace

void Claims::add(const can::Frame& frame, const Mark& mark) {
  const std::optional<std::uint64_t> name = can::read_j1939_name(frame.bytes());
  if (!name) return;
  const std::uint8_t address = can::j1939_source(frame.id);
  const auto same = [&](const Entry& e) {
    return e.channel == frame.channel && e.address == address && e.claim.name == *name;
  };
  auto found = std::find_if(entries_.begin(), entries_.end(), same);
  if (found == entries_.end()) {
    if (entries_.size() == kMostClaims) {
      ++not_kept_;
      return;
    }
    found = entries_.insert(entries_.end(), {frame.channel, address, {*name, 0, mark, mark}});
  }
  ++found->claim.times;
  found->claim.last = mark;
}

void Claims::tell(Findings& findings) const {
  findings.not_kept += not_kept_;
  for (const Entry& entry : entries_) {
    if (entry.address == can::kNullAddress) {
      findings.cannot_claim.push_back({entry.channel, entry.claim});
      continue;
    }
    const SenderKey key{entry.channel, true, entry.address};
    for (Sender& sender : findings.senders)
      if (sender.key == key) sender.claims.push_back(entry.claim);
  }
  for (const Sender& sender : findings.senders) {
    if (sender.claims.size() < 2) continue;
    const auto lowest = std::min_element(sender.claims.begin(), sender.claims.end(),
                                         [](const Claim& a, const Claim& b) { return a.name < b.name; });
    findings.conflicts.push_back({sender.key, sender.claims, contested(sender.claims), lowest->name});
  }
}

}  // namespace halfsplit::capture
