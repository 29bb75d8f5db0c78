// SPDX-License-Identifier: Apache-2.0
// Control frames (group 60416), byte 1: 16 request to send, 17 clear to send, 19 end of message acknowledged, 32
// broadcast announced, 255 broken off; bytes 6 to 8 the group of the message. Announcements: bytes 2 and 3 size, byte 4
// packets. Clear to send: byte 2 how many, byte 3 from which; none: hold on. Data frames (60160): byte 1 number from 1,
// then seven bytes (SAE J1939-21, 5.10). A session is one message under way, found by channel, sender and receiver.
#include "can/transport.h"

#include <algorithm>
#include <bitset>

namespace halfsplit::can {

namespace {

constexpr std::uint8_t kRequestToSend = 16;
constexpr std::uint8_t kClearToSend = 17;
constexpr std::uint8_t kEndOfMessage = 19;
constexpr std::uint8_t kBroadcast = 32;
constexpr std::uint8_t kBrokenOff = 255;

constexpr std::int64_t kBetweenPacketsUs = 750'000;  // T1
constexpr std::int64_t kAfterGoAheadUs = 1'250'000;  // T2
constexpr std::int64_t kForGoAheadUs = 1'250'000;    // T3
constexpr std::int64_t kAfterHoldUs = 1'050'000;     // T4
constexpr std::size_t kPacketBytes = 7;

std::uint32_t group_of(const Frame& frame) {
  return (frame.data[5] | static_cast<std::uint32_t>(frame.data[6]) << 8 |
          static_cast<std::uint32_t>(frame.data[7]) << 16) &
         kLargestPgn;
}

}  // namespace

struct Transport::Session {
  TransportMessage message;
  std::bitset<256> heard;    // by packet number
  std::uint8_t highest = 0;  // packet number heard
  std::uint8_t let_go = 0;   // the last packet of the go-ahead; broadcast: all
  std::int64_t patience_us = 0;
};

Transport::Transport() = default;
Transport::~Transport() = default;
Transport::Transport(Transport&&) noexcept = default;
Transport& Transport::operator=(Transport&&) noexcept = default;

void Transport::take(const Frame& frame, std::vector<TransportMessage>& ended) {
  if (frame.kind != FrameKind::kData || !frame.extended || !concerns(frame.id)) return;
  expire(frame.time_us, ended);
  const J1939Id id = split_j1939_id(frame.id);
  if (id.pgn() == kPgnTransportData) {
    take_packet(frame, id, ended);
  } else if (frame.length < 8) {
    ++counts_.odd;
  } else {
    take_control(frame, id, ended);
  }
}

void Transport::take_control(const Frame& frame, const J1939Id& id, Ended& ended) {
  switch (frame.data[0]) {
    case kRequestToSend:
    case kBroadcast:
      return announce(frame, id, ended);
    case kClearToSend:
      return go_ahead(frame, id);
    case kEndOfMessage:
      return acknowledge(frame, id, ended);
    case kBrokenOff:
      return abort(frame, id, ended);
    default:
      ++counts_.odd;
  }
}

void Transport::announce(const Frame& frame, const J1939Id& id, Ended& ended) {
  Session session;
  TransportMessage& message = session.message;
  message.broadcast = frame.data[0] == kBroadcast;
  message.channel = frame.channel;
  message.source = id.source;
  message.destination = id.destination();
  message.pgn = group_of(frame);
  message.size = static_cast<std::uint16_t>(frame.data[1] | frame.data[2] << 8);
  message.packets = frame.data[3];
  message.first_line = message.last_line = frame.line;
  message.first_us = message.last_us = frame.time_us;
  session.let_go = message.broadcast ? message.packets : 0;
  session.patience_us = message.broadcast ? kBetweenPacketsUs : kForGoAheadUs;
  if (announced_again(message)) return;
  const std::size_t before = find(frame.channel, id.source, id.destination());
  if (before < sessions_.size()) settle(before, TransportEnd::kReplaced, ended);
  ++counts_.announced;
  begin(std::move(session), ended);
}

// The same request once more before anything came of it is no new message.
bool Transport::announced_again(const TransportMessage& message) {
  const std::size_t at = find(message.channel, message.source, message.destination);
  if (at == sessions_.size()) return false;
  TransportMessage& before = sessions_[at].message;
  if (before.broadcast != message.broadcast || before.pgn != message.pgn || before.size != message.size ||
      before.packets != message.packets || before.received != 0) {
    return false;
  }
  ++before.announced_again;
  before.last_line = message.last_line;
  before.last_us = message.last_us;
  return true;
}

void Transport::begin(Session&& session, Ended& ended) {
  TransportMessage& message = session.message;
  const bool to_all_with_reply = !message.broadcast && message.destination == kGlobalAddress;
  const bool fits = message.size > 0 && message.size <= message.packets * kPacketBytes;
  if (to_all_with_reply || !fits) {
    message.end = TransportEnd::kMalformed;
    ++counts_.unfinished;
    ended.push_back(std::move(message));
    return;
  }
  if (sessions_.size() >= kMostTransports) {
    const auto oldest = std::min_element(sessions_.begin(), sessions_.end(), [](const Session& a, const Session& b) {
      return a.message.last_line < b.message.last_line;
    });
    settle(static_cast<std::size_t>(oldest - sessions_.begin()), TransportEnd::kCrowdedOut, ended);
  }
  message.bytes.resize(message.size);
  sessions_.push_back(std::move(session));
}

void Transport::take_packet(const Frame& frame, const J1939Id& id, Ended& ended) {
  const std::size_t at = find(frame.channel, id.source, id.destination());
  if (at == sessions_.size()) {
    ++counts_.stray;
    return;
  }
  Session& session = sessions_[at];
  TransportMessage& message = session.message;
  const std::uint8_t number = frame.length > 0 ? frame.data[0] : 0;
  if (number == 0 || number > message.packets) {
    ++counts_.odd;
    return;
  }
  const std::size_t from = (number - 1U) * kPacketBytes;
  const std::size_t count = from < message.size ? std::min(kPacketBytes, message.size - from) : 0;
  if (frame.length < count + 1) {
    ++counts_.odd;
    return;
  }
  std::copy_n(frame.data.begin() + 1, count,
              message.bytes.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(from, message.size)));
  if (session.heard.test(number)) {
    ++message.repeated;
  } else {
    session.heard.set(number);
    ++message.received;
    if (number < session.highest) ++message.out_of_order;
  }
  session.highest = std::max(session.highest, number);
  session.patience_us = number >= session.let_go ? kForGoAheadUs : kBetweenPacketsUs;
  message.last_line = frame.line;
  message.last_us = frame.time_us;
  if (message.broadcast && message.received == message.packets) settle(at, TransportEnd::kComplete, ended);
}

void Transport::go_ahead(const Frame& frame, const J1939Id& id) {
  const std::size_t at = find(frame.channel, id.destination(), id.source);
  if (at == sessions_.size() || sessions_[at].message.broadcast || sessions_[at].message.pgn != group_of(frame)) {
    ++counts_.stray;
    return;
  }
  Session& session = sessions_[at];
  const unsigned count = frame.data[1];
  if (count > 0) session.let_go = static_cast<std::uint8_t>(std::min(255U, frame.data[2] + count - 1));
  session.patience_us = count > 0 ? kAfterGoAheadUs : kAfterHoldUs;
  session.message.last_line = frame.line;
  session.message.last_us = frame.time_us;
}

void Transport::acknowledge(const Frame& frame, const J1939Id& id, Ended& ended) {
  const std::size_t at = find(frame.channel, id.destination(), id.source);
  if (at == sessions_.size() || sessions_[at].message.broadcast || sessions_[at].message.pgn != group_of(frame)) {
    ++counts_.stray;
    return;
  }
  TransportMessage& message = sessions_[at].message;
  message.acknowledged = true;
  message.last_line = frame.line;
  message.last_us = frame.time_us;
  settle(at, TransportEnd::kMissed, ended);
}

// Either of the two may break off; which message is meant says its group alone.
void Transport::abort(const Frame& frame, const J1939Id& id, Ended& ended) {
  bool found = false;
  for (const bool by_sender : {true, false}) {
    const std::uint8_t from = by_sender ? id.source : id.destination();
    const std::uint8_t to = by_sender ? id.destination() : id.source;
    const std::size_t at = find(frame.channel, from, to);
    if (at == sessions_.size() || sessions_[at].message.broadcast || sessions_[at].message.pgn != group_of(frame))
      continue;
    TransportMessage& message = sessions_[at].message;
    message.aborted_by = id.source;
    message.abort_reason = frame.data[1];
    message.last_line = frame.line;
    message.last_us = frame.time_us;
    settle(at, TransportEnd::kAborted, ended);
    found = true;
  }
  if (!found) ++counts_.stray;
}

void Transport::expire(std::int64_t now_us, Ended& ended) {
  for (std::size_t at = 0; at < sessions_.size();) {
    const Session& session = sessions_[at];
    if (now_us - session.message.last_us > session.patience_us) {
      settle(at, TransportEnd::kTimedOut, ended);
    } else {
      ++at;
    }
  }
}

void Transport::finish(Ended& ended) {
  while (!sessions_.empty()) settle(0, TransportEnd::kCutShort, ended);
}

// What has all its packets is complete, however it ended.
void Transport::settle(std::size_t at, TransportEnd otherwise, Ended& ended) {
  TransportMessage message = std::move(sessions_[at].message);
  sessions_.erase(sessions_.begin() + static_cast<std::ptrdiff_t>(at));
  message.end = message.received == message.packets ? TransportEnd::kComplete : otherwise;
  if (message.end == TransportEnd::kComplete) {
    ++counts_.complete;
  } else {
    ++(message.end == TransportEnd::kAborted ? counts_.aborted : counts_.unfinished);
    message.bytes.clear();
  }
  ended.push_back(std::move(message));
}

std::size_t Transport::find(std::uint8_t channel, std::uint8_t source, std::uint8_t destination) const {
  const auto found = std::find_if(sessions_.begin(), sessions_.end(), [=](const Session& session) {
    const TransportMessage& message = session.message;
    return message.channel == channel && message.source == source && message.destination == destination;
  });
  return static_cast<std::size_t>(found - sessions_.begin());
}

}  // namespace halfsplit::can
