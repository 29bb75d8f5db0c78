// SPDX-License-Identifier: Apache-2.0
// Byte 1: three bits of sequence, which tells messages of one group apart, above five bits of frame number. Frame 0:
// byte 2 how many bytes in all, then six of them; the others seven each. Source: open decoders of such networks and
// their test captures (tests/data/captures/n2k); the wait from memory.
#include "can/fast_packet.h"

#include <algorithm>
#include <array>
#include <iterator>

#include "can/j1939_id.h"

namespace halfsplit::can {

namespace {

// Those of tests/data/descriptions/iso-n2k-pgn-subset.json, and [m] positions, wind and satellites. Rising.
constexpr std::uint32_t kFastGroups[] = {126208, 126464, 126996, 126998, 127237, 127489, 127496, 127497, 127498,
                                         127503, 127504, 127506, 127507, 127509, 127510, 127511, 127512, 127513,
                                         127514, 128275, 129029, 129038, 129039, 129040, 129044, 129284, 129285,
                                         129540, 129794, 129809, 129810, 130074, 130323, 130577};

constexpr std::size_t bytes_in(unsigned number) { return number == 0 ? 6 : 7; }
constexpr std::size_t place_of(unsigned number) { return number == 0 ? 0 : 6 + (number - 1U) * 7; }
// A bit for each frame of a message of so many bytes.
constexpr std::uint32_t frames_for(std::size_t size) {
  const std::size_t frames = size <= 6 ? 1 : 1 + size / 7;
  return frames >= 32 ? 0xFFFFFFFFU : (1U << frames) - 1;
}

}  // namespace

bool is_fast_packet(std::uint32_t pgn) {
  const bool proprietary = pgn == kPgnProprietaryA2 || (pgn >= 0x1FF00 && pgn <= 0x1FFFF);
  return proprietary || std::binary_search(std::begin(kFastGroups), std::end(kFastGroups), pgn);
}

struct FastPackets::Session {
  FastMessage message;
  std::uint32_t heard = 0;  // a bit for each frame number
  std::array<std::uint8_t, kLongestFastPacket> bytes{};
};

FastPackets::FastPackets() = default;
FastPackets::~FastPackets() = default;
FastPackets::FastPackets(FastPackets&&) noexcept = default;
FastPackets& FastPackets::operator=(FastPackets&&) noexcept = default;

std::size_t FastPackets::find(const Frame& frame, std::uint32_t pgn) const {
  const auto found = std::find_if(sessions_.begin(), sessions_.end(), [&](const Session& session) {
    const FastMessage& message = session.message;
    return message.pgn == pgn && message.source == j1939_source(frame.id) && message.sequence == frame.data[0] >> 5 &&
           message.channel == frame.channel;
  });
  return static_cast<std::size_t>(found - sessions_.begin());
}

std::size_t FastPackets::begin(const Frame& frame, std::uint32_t pgn, std::vector<FastMessage>& ended) {
  if (sessions_.size() >= kMostFastPackets) settle(0, ended);
  Session session;
  session.message.channel = frame.channel;
  session.message.source = j1939_source(frame.id);
  session.message.destination = split_j1939_id(frame.id).destination();
  session.message.sequence = frame.data[0] >> 5;
  session.message.pgn = pgn;
  session.message.first_line = frame.line;
  session.message.first_us = frame.time_us;
  sessions_.push_back(session);
  return sessions_.size() - 1;
}

void FastPackets::take(const Frame& frame, std::vector<FastMessage>& ended) {
  const std::uint32_t pgn = j1939_pgn(frame.id);
  if (frame.kind != FrameKind::kData || !frame.extended || frame.length < 2 || !is_fast_packet(pgn)) return;
  expire(frame.time_us, ended);
  const unsigned number = frame.data[0] & 31U;
  std::size_t at = find(frame, pgn);
  const auto completes = [&] {
    const std::uint32_t all = frames_for(frame.data[1]);
    return number == 0 && all > 1 && ((sessions_[at].heard | 1U) & all) == all;
  };
  // Twice the same frame, or a first one after all others: a new message under the same sequence.
  if (at < sessions_.size() && ((sessions_[at].heard >> number & 1U) != 0 || completes())) {
    settle(at, ended);
    at = sessions_.size();
  }
  if (at >= sessions_.size()) at = begin(frame, pgn, ended);
  Session& session = sessions_[at];
  session.heard |= 1U << number;
  ++session.message.received;
  session.message.last_line = frame.line;
  session.message.last_us = frame.time_us;
  const std::size_t head = number == 0 ? 2 : 1;
  if (number == 0) session.message.size = std::min<std::uint16_t>(frame.data[1], kLongestFastPacket);
  const std::size_t count = std::min<std::size_t>(bytes_in(number), frame.length - head);
  std::copy_n(frame.data.begin() + static_cast<std::ptrdiff_t>(head), count,
              session.bytes.begin() + static_cast<std::ptrdiff_t>(place_of(number)));
  const std::uint32_t all = frames_for(session.message.size);
  if (session.message.size > 0 && (session.heard & all) == all) settle(at, ended);
}

void FastPackets::settle(std::size_t at, std::vector<FastMessage>& ended) {
  Session& session = sessions_[at];
  FastMessage& message = session.message;
  const std::uint32_t all = frames_for(message.size);
  message.complete = message.size > 0 && (session.heard & all) == all;
  if (message.complete) message.bytes.assign(session.bytes.begin(), session.bytes.begin() + message.size);
  ended.push_back(std::move(message));
  sessions_.erase(sessions_.begin() + static_cast<std::ptrdiff_t>(at));
}

void FastPackets::expire(std::int64_t now_us, std::vector<FastMessage>& ended) {
  for (std::size_t at = 0; at < sessions_.size();) {
    if (now_us - sessions_[at].message.last_us > kFastPacketWaitUs) {
      settle(at, ended);
    } else {
      ++at;
    }
  }
}

void FastPackets::finish(std::vector<FastMessage>& ended) {
  while (!sessions_.empty()) settle(0, ended);
}

}  // namespace halfsplit::can
