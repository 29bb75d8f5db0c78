// SPDX-License-Identifier: Apache-2.0
// Long messages of the J1939 transport protocol (can/transport.h), counted by sender, receiver and group.
#pragma once

#include <vector>

#include "can/transport.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::size_t kMostLongKinds = 2048;

class LongMessageCounts {
 public:
  void add(const can::TransportMessage& message, const Mark& first, const Mark& last);
  void tell(Findings& findings) const;

 private:
  std::vector<LongMessages> kinds_;
  std::uint64_t not_kept_ = 0;
};

}  // namespace halfsplit::capture
