// SPDX-License-Identifier: Apache-2.0
#include "capture/requests.h"

#include <algorithm>

#include "can/j1939_id.h"
#include "can/j1939_requests.h"

namespace halfsplit::capture {

namespace {

// Of a request to one: that one. Of a request for claims to everyone: everyone. Otherwise nobody has to.
bool had_to_answer(const Request& request, std::uint8_t address) {
  if (address == request.from || address == can::kNullAddress) return false;
  if (request.to == can::kGlobalAddress) return request.pgn == can::kPgnAddressClaimed;
  return request.to == address;
}

}  // namespace

void Requests::ask(const can::Frame& frame, const Mark& mark) {
  const std::optional<std::uint32_t> pgn = can::read_request(frame.bytes());
  if (!pgn) return;
  const can::J1939Id id = can::split_j1939_id(frame.id);
  const auto same = [&](const Entry& e) {
    const Request& r = e.request;
    return r.channel == frame.channel && r.from == id.source && r.to == id.destination() && r.pgn == *pgn;
  };
  auto found = std::find_if(entries_.begin(), entries_.end(), same);
  if (found == entries_.end()) {
    if (entries_.size() == kMostRequests) {
      ++not_kept_;
      return;
    }
    found = entries_.emplace(entries_.end());
    found->request.channel = frame.channel;
    found->request.from = id.source;
    found->request.to = id.destination();
    found->request.pgn = *pgn;
    found->request.first = mark;
  }
  ++found->request.times;
  found->request.last = mark;
  expire(mark.at_us);
  if (waiting_.size() == kMostWaiting) {
    settle(waiting_.front());
    waiting_.erase(waiting_.begin());
  }
  waiting_.push_back({static_cast<std::size_t>(found - entries_.begin()), mark});
}

bool Requests::see(std::uint8_t channel, std::uint8_t from, std::uint32_t pgn, const Mark& mark) {
  expire(mark.at_us);
  bool asked_for = false;
  for (Waiting& one : waiting_) {
    Entry& entry = entries_[one.entry];
    const Request& r = entry.request;
    if (r.pgn != pgn || r.channel != channel || r.from == from) continue;
    if (r.to != can::kGlobalAddress && r.to != from) continue;
    one.answered = asked_for = true;
    entry.by.set(from);
  }
  return asked_for;
}

bool Requests::asked(std::uint8_t channel, std::uint32_t pgn, const Mark& mark) const {
  return std::any_of(waiting_.begin(), waiting_.end(), [&](const Waiting& one) {
    const Request& r = entries_[one.entry].request;
    return r.pgn == pgn && r.channel == channel && mark.at_us <= one.asked.at_us + kAnswerUs;
  });
}

void Requests::acknowledge(const can::Frame& frame, const Mark& mark) {
  const std::optional<can::Acknowledgement> told = can::read_acknowledgement(frame.bytes());
  if (!told) return;
  const can::J1939Id id = can::split_j1939_id(frame.id);
  const auto same = [&](const Acknowledged& a) {
    return a.channel == frame.channel && a.from == id.source && a.to == told->address && a.control == told->control &&
           a.pgn == told->pgn;
  };
  auto found = std::find_if(acknowledged_.begin(), acknowledged_.end(), same);
  if (found == acknowledged_.end()) {
    if (acknowledged_.size() == kMostRequests) {
      ++not_kept_;
      return;
    }
    found = acknowledged_.insert(acknowledged_.end(),
                                 {frame.channel, id.source, told->address, told->control, told->pgn, 0, mark, mark});
  }
  ++found->times;
  found->last = mark;
  expire(mark.at_us);
  for (Waiting& one : waiting_) {
    Entry& entry = entries_[one.entry];
    const Request& r = entry.request;
    const bool from_asked = r.to == can::kGlobalAddress || r.to == id.source;
    if (r.pgn != told->pgn || r.channel != frame.channel || r.from == id.source || !from_asked) continue;
    const bool done = told->kind == can::AcknowledgementKind::kDone;
    (done ? one.answered : one.refused) = true;
    if (done) entry.by.set(id.source);
  }
}

void Requests::settle(const Waiting& one) {
  Request& request = entries_[one.entry].request;
  if (one.answered) {
    ++request.answered;
  } else if (one.refused) {
    ++request.refused;
  } else {
    ++request.unanswered;
    if (request.first_unanswered.line == 0) request.first_unanswered = one.asked;
  }
}

void Requests::expire(std::int64_t now_us) {
  std::size_t gone = 0;
  while (gone < waiting_.size() && now_us > waiting_[gone].asked.at_us + kAnswerUs) settle(waiting_[gone++]);
  waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(gone));
}

void Requests::tell(Findings& findings, const Mark& end) {
  expire(end.at_us);
  findings.not_kept += not_kept_;
  findings.acknowledgements = acknowledged_;
  for (const Entry& entry : entries_) {
    Request request = entry.request;
    for (const Waiting& one : waiting_)
      if (&entries_[one.entry] == &entry && one.answered) ++request.answered;
    for (std::size_t a = 0; a < entry.by.size(); ++a)
      if (entry.by.test(a)) request.answered_by.push_back(static_cast<std::uint8_t>(a));
    for (const Sender& sender : findings.senders) {
      if (!sender.key.extended || sender.key.channel != request.channel) continue;
      const auto address = static_cast<std::uint8_t>(sender.key.number);
      const bool there = sender.first.line <= request.last.line &&
                         sender.last.at_us >= request.first.at_us + kAnswerUs && !entry.by.test(address);
      if (there && request.unanswered + request.answered > 0 && had_to_answer(request, address))
        request.not_answered_by.push_back(address);
    }
    findings.requests.push_back(std::move(request));
  }
}

}  // namespace halfsplit::capture
