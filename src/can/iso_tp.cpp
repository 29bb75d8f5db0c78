// SPDX-License-Identifier: Apache-2.0
// The control byte's high half says what a frame is: 0 single (low half: bytes; 0 in a longer CAN FD frame: the next
// byte says), 1 first (twelve bits of size; 0: the next four bytes say), 2 consecutive (low half counts up from 1,
// after 15 comes 0), 3 flow control from the receiver (0 go on, 1 wait, 2 no room) (ISO 15765-2, 9.6). A session is one
// message under way.
#include "can/iso_tp.h"

#include <algorithm>
#include <utility>

namespace halfsplit::can {

namespace {

constexpr std::uint8_t kTester = 0xF1;
constexpr std::uint8_t kEverybody = 0xFF;

}  // namespace

// Which way a frame goes. `flow` is the same for all frames of a message, `back` that of the receiver's own messages.
struct IsoTp::Route {
  std::uint32_t flow = 0, back = 0;
  bool to_many = false;
  bool extended = false;
  std::uint32_t id = 0;
  std::uint8_t source = 0, target = 0;
  std::size_t control_at = 0;  // where the control byte stands
  std::uint8_t address = 0;    // the byte before it
};

struct IsoTp::Session {
  IsoTpMessage message;
  Route route;
  std::uint8_t next = 1;  // the number expected
};

IsoTp::IsoTp(std::vector<IsoTpPair> pairs) : pairs_(std::move(pairs)) {}
IsoTp::~IsoTp() = default;
IsoTp::IsoTp(IsoTp&&) noexcept = default;
IsoTp& IsoTp::operator=(IsoTp&&) noexcept = default;

std::optional<IsoTp::Route> IsoTp::route(const Frame& frame) const {
  Route route;
  route.id = frame.id;
  route.extended = frame.extended;
  for (const IsoTpPair& pair : pairs_) {
    if (pair.extended != frame.extended || (frame.id != pair.asks && frame.id != pair.answers)) continue;
    route.flow = frame.id;
    route.back = frame.id == pair.asks ? pair.answers : pair.asks;
    route.control_at = pair.address_byte ? 1 : 0;
    route.address = pair.address_byte && frame.length > 0 ? frame.data[0] : 0;
    return route;
  }
  if (!concerns(frame)) return std::nullopt;
  if (frame.extended) {
    route.to_many = (frame.id >> 16 & 0xFF) == 0xDB;
    route.target = static_cast<std::uint8_t>(frame.id >> 8 & 0xFF);
    route.source = static_cast<std::uint8_t>(frame.id & 0xFF);
    route.flow = frame.id & 0x3FFFFFF;  // whatever the priority
    route.back = 0xDA0000U | static_cast<std::uint32_t>(route.source) << 8 | route.target;
    return route;
  }
  route.to_many = frame.id == 0x7DF;
  const bool answers = (frame.id & 8U) != 0 && !route.to_many;
  const auto module = static_cast<std::uint8_t>(frame.id & 7U);
  route.source = answers ? module : kTester;
  route.target = route.to_many ? kEverybody : answers ? kTester : module;
  route.flow = frame.id;
  route.back = frame.id ^ 8U;
  return route;
}

void IsoTp::take(const Frame& frame, std::vector<IsoTpMessage>& ended) {
  if (frame.kind != FrameKind::kData || (pairs_.empty() && !concerns(frame))) return;
  const std::optional<Route> way = route(frame);
  if (!way) return;
  ++counts_.frames;
  expire(frame.time_us, ended);
  if (frame.length <= way->control_at) {
    ++counts_.odd;
    return;
  }
  switch (frame.data[way->control_at] >> 4) {
    case 0:
      return take_single(frame, *way, ended);
    case 1:
      return take_first(frame, *way, ended);
    case 2:
      return take_consecutive(frame, *way, ended);
    case 3:
      return take_flow(frame, *way, ended);
    default:
      ++counts_.odd;
  }
}

void IsoTp::take_single(const Frame& frame, const Route& route, Ended& ended) {
  std::size_t from = route.control_at + 1;
  std::size_t size = frame.data[route.control_at] & 0x0F;
  if (size == 0 && frame.length > 8) size = frame.data[from++];
  if (size == 0 || from + size > frame.length) {
    ++counts_.odd;
    return;
  }
  begin(frame, route, static_cast<std::uint32_t>(size), from, ended);
}

void IsoTp::take_first(const Frame& frame, const Route& route, Ended& ended) {
  std::size_t from = route.control_at + 2;
  if (frame.length < from) {
    ++counts_.odd;
    return;
  }
  std::uint32_t size = (frame.data[route.control_at] & 0x0FU) << 8 | frame.data[route.control_at + 1];
  if (size == 0 && frame.length >= from + 4) {
    for (std::size_t k = 0; k < 4; ++k) size = size << 8 | frame.data[from + k];
    from += 4;
  }
  // What fits into one frame is not begun this way, and what nobody sends is not waited for.
  if (size <= frame.length - from || size > kLongestIsoTp || frame.length < 8) {
    ++counts_.odd;
    return;
  }
  begin(frame, route, size, from, ended);
}

void IsoTp::begin(const Frame& frame, const Route& route, std::uint32_t size, std::size_t from, Ended& ended) {
  const std::size_t before = find(route, frame.channel);
  if (before < sessions_.size()) settle(before, IsoTpEnd::kReplaced, ended);
  if (sessions_.size() >= kMostIsoTp) settle(0, IsoTpEnd::kCrowdedOut, ended);
  Session session;
  session.route = route;
  IsoTpMessage& message = session.message;
  message.to_many = route.to_many;
  message.extended = route.extended;
  message.channel = frame.channel;
  message.id = route.id;
  message.source = route.source;
  message.target = route.target;
  message.size = size;
  message.first_line = message.last_line = frame.line;
  message.first_us = message.last_us = frame.time_us;
  const std::size_t count = std::min<std::size_t>(size, frame.length - from);
  message.bytes.assign(frame.data.begin() + static_cast<std::ptrdiff_t>(from),
                       frame.data.begin() + static_cast<std::ptrdiff_t>(from + count));
  sessions_.push_back(std::move(session));
  if (count == size) settle(sessions_.size() - 1, IsoTpEnd::kComplete, ended);
}

void IsoTp::take_consecutive(const Frame& frame, const Route& route, Ended& ended) {
  const std::size_t at = find(route, frame.channel);
  if (at == sessions_.size()) {
    ++counts_.stray;
    return;
  }
  Session& session = sessions_[at];
  IsoTpMessage& message = session.message;
  message.last_line = frame.line;
  message.last_us = frame.time_us;
  if ((frame.data[route.control_at] & 0x0F) != session.next) return settle(at, IsoTpEnd::kLost, ended);
  session.next = static_cast<std::uint8_t>((session.next + 1) & 0x0F);
  const std::size_t from = route.control_at + 1;
  const std::size_t count = std::min<std::size_t>(message.size - message.bytes.size(), frame.length - from);
  message.bytes.insert(message.bytes.end(), frame.data.begin() + static_cast<std::ptrdiff_t>(from),
                       frame.data.begin() + static_cast<std::ptrdiff_t>(from + count));
  if (message.bytes.size() == message.size) settle(at, IsoTpEnd::kComplete, ended);
}

// Goes against the message it is about.
void IsoTp::take_flow(const Frame& frame, const Route& route, Ended& ended) {
  const auto found = std::find_if(sessions_.begin(), sessions_.end(), [&](const Session& session) {
    return session.message.channel == frame.channel && session.route.extended == route.extended &&
           session.route.flow == route.back;
  });
  const unsigned state = frame.data[route.control_at] & 0x0FU;
  if (state > 2) {
    ++counts_.odd;
  } else if (found == sessions_.end()) {
    ++counts_.stray;
  } else {
    found->message.last_line = frame.line;
    found->message.last_us = frame.time_us;
    if (state == 2) settle(static_cast<std::size_t>(found - sessions_.begin()), IsoTpEnd::kRefused, ended);
  }
}

void IsoTp::expire(std::int64_t now_us, Ended& ended) {
  for (std::size_t at = 0; at < sessions_.size();) {
    if (now_us - sessions_[at].message.last_us > kIsoTpWaitUs) {
      settle(at, IsoTpEnd::kTimedOut, ended);
    } else {
      ++at;
    }
  }
}

void IsoTp::finish(Ended& ended) {
  while (!sessions_.empty()) settle(0, IsoTpEnd::kCutShort, ended);
}

void IsoTp::settle(std::size_t at, IsoTpEnd end, Ended& ended) {
  IsoTpMessage message = std::move(sessions_[at].message);
  sessions_.erase(sessions_.begin() + static_cast<std::ptrdiff_t>(at));
  message.end = end;
  message.received = static_cast<std::uint32_t>(message.bytes.size());
  ++(end == IsoTpEnd::kComplete ? counts_.complete : counts_.unfinished);
  ended.push_back(std::move(message));
}

std::size_t IsoTp::find(const Route& route, std::uint8_t channel) const {
  const auto found = std::find_if(sessions_.begin(), sessions_.end(), [&](const Session& session) {
    return session.message.channel == channel && session.route.extended == route.extended &&
           session.route.flow == route.flow && session.route.address == route.address;
  });
  return static_cast<std::size_t>(found - sessions_.begin());
}

std::string_view iso_tp_end_word(IsoTpEnd end) {
  switch (end) {
    case IsoTpEnd::kComplete:
      return "complete";
    case IsoTpEnd::kLost:
      return "a frame in between is missing";
    case IsoTpEnd::kRefused:
      return "refused: the receiver has no room for it";
    case IsoTpEnd::kReplaced:
      return "begun anew before it was done";
    case IsoTpEnd::kTimedOut:
      return "nothing came any more";
    case IsoTpEnd::kCutShort:
      return "under way at the end of the recording";
    case IsoTpEnd::kCrowdedOut:
      break;
  }
  return "given up: too many under way";
}

}  // namespace halfsplit::can
