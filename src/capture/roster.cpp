// SPDX-License-Identifier: Apache-2.0
#include "capture/roster.h"

#include <algorithm>
#include <numeric>

#include "can/j1939_id.h"

namespace halfsplit::capture {

namespace {

constexpr double kPeriodsQuiet = 5.0;  // of its fastest cyclic message
constexpr double kLatestQuiet = 3.0;   // times the interval that 19 in 20 keep below
constexpr std::int64_t kLeastQuietUs = 100'000;
constexpr double kShareOfItsTime = 0.5;  // a message that says how fast its sender is was there so long
constexpr std::int64_t kStoppedPeriods = 10;

// Only what a module sends by itself says how often it ought to be heard.
bool own_rhythm(Role role) { return role == Role::kPlain || role == Role::kCodes || role == Role::kVolts; }

Message told_message(const MessageRecord& record) {
  Message message;
  message.id = record.id;
  message.pgn = record.pgn;
  message.destination = record.destination;
  message.frames = record.frames;
  message.first = record.first;
  message.last = {record.last_us, record.last_line};
  message.rhythm = record.intervals.rhythm();
  message.rhythm.cyclic = message.rhythm.cyclic && own_rhythm(record.role);
  message.longest = record.longest;
  message.answers = record.answers;
  message.on_request = !message.rhythm.cyclic && 2 * record.answers > record.frames;
  return message;
}

void judge_quiet(Sender& sender, const Message& message) {
  const auto span = [](const Mark& a, const Mark& b) { return static_cast<double>(b.at_us - a.at_us); };
  if (!message.rhythm.cyclic) return;
  if (span(message.first, message.last) < kShareOfItsTime * span(sender.first, sender.last)) return;
  if (sender.fastest_us > 0.0 && sender.fastest_us <= message.rhythm.median_us) return;
  sender.fastest_us = message.rhythm.median_us;
  sender.quiet_us = std::max(kLeastQuietUs, static_cast<std::int64_t>(std::max(kPeriodsQuiet * message.rhythm.median_us,
                                                                               kLatestQuiet * message.rhythm.p95_us)));
}

void mark_stopped(Sender& sender) {
  for (Message& message : sender.messages) {
    if (!message.rhythm.cyclic) continue;
    const auto patience = static_cast<std::int64_t>(message.rhythm.p95_us) * kStoppedPeriods;
    message.stopped = message.last.at_us + std::max(patience, sender.quiet_us) < sender.last.at_us;
  }
}

}  // namespace

std::vector<std::size_t> make_roster(const std::vector<SenderRecord>& records,
                                     const std::vector<MessageRecord>& messages, Findings& findings) {
  std::vector<std::size_t> order(records.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return records[a].key < records[b].key; });
  std::vector<std::size_t> place(records.size());
  for (const std::size_t r : order) {
    place[r] = findings.senders.size();
    Sender& sender = findings.senders.emplace_back();
    sender.key = records[r].key;
    sender.first = records[r].first;
    sender.last = records[r].last;
    sender.rate = records[r].rate;
  }
  for (const MessageRecord& record : messages) {
    Sender& sender = findings.senders[place[record.sender]];
    sender.messages.push_back(told_message(record));
    sender.frames += record.frames;
    const bool nobody = sender.key.extended && sender.key.number == can::kNullAddress;
    if (findings.timed && !nobody) judge_quiet(sender, sender.messages.back());
  }
  for (Sender& sender : findings.senders) {
    std::sort(sender.messages.begin(), sender.messages.end(), [](const Message& a, const Message& b) {
      return a.id != b.id ? a.id < b.id : a.first.line < b.first.line;
    });
    mark_stopped(sender);
  }
  return order;
}

}  // namespace halfsplit::capture
