// SPDX-License-Identifier: Apache-2.0
// A job as the sum of its events. diff says what changed from one state of a job to the next, apply adds it up again:
// apply(a, diff(a, b)) is b, whatever a and b are. Bodies are JSON, so that sqlite3 alone can read them
// (docs/formats/book.md). Pure: no clock, no file.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "job/job.h"

namespace halfsplit::store {

struct Event {
  std::int64_t seq = 0;  // from 1 within its job; 0: not stored yet
  std::string at;        // ISO 8601, UTC
  std::string kind;      // "opened", "entry", "struck", ... (docs/formats/book.md)
  std::string body;      // a JSON object
};

// What was done to get from `before` to `after`, in an order that can be told: header, kit, meter, entries, struck,
// skipped, asked, closed. Without `seq` and `at`. Empty when they are equal.
[[nodiscard]] std::vector<Event> diff(const job::Job& before, const job::Job& after);

// Adds one event up. Kinds that say nothing about the job itself (photo, removed, learned, ...) leave it as it is, and
// so does a kind that a later version may bring. Errors: book.bad-event.
[[nodiscard]] base::Result<base::Done> apply(job::Job& job, const Event& event);

// In a few words, for people: "saw ohms J4:12 J4:13  121.7".
[[nodiscard]] std::string event_words(const Event& event);

}  // namespace halfsplit::store
