// SPDX-License-Identifier: Apache-2.0
// The list of senders and their messages at the end of a recording.
#pragma once

#include <vector>

#include "capture/findings.h"
#include "capture/message_table.h"
#include "capture/sender_record.h"

namespace halfsplit::capture {

// Fills findings.senders, by key. Gives for each of them its record's index.
[[nodiscard]] std::vector<std::size_t> make_roster(const std::vector<SenderRecord>& records,
                                                   const std::vector<MessageRecord>& messages, Findings& findings);

}  // namespace halfsplit::capture
