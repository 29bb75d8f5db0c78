// SPDX-License-Identifier: Apache-2.0
// Address claims (group 60928): who is who, addresses claimed by two, and who found none (source address 254).
#pragma once

#include <vector>

#include "can/frame.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::size_t kMostClaims = 1024;

class Claims {
 public:
  void add(const can::Frame& frame, const Mark& mark);
  // Into the senders, which are by key, and the lists of conflicts and of those without an address.
  void tell(Findings& findings) const;

 private:
  struct Entry {
    std::uint8_t channel = 0, address = 0;
    Claim claim;
  };
  std::vector<Entry> entries_;
  std::uint64_t not_kept_ = 0;
};

}  // namespace halfsplit::capture
