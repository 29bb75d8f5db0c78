// SPDX-License-Identifier: Apache-2.0
#include "tests/captures/traffic.h"

#include <algorithm>
#include <array>

namespace halfsplit::test {

namespace {

constexpr std::int64_t kStartUs = 1'600'000'000'000'000;
constexpr std::int64_t kFrameUs = 520;  // about 130 bits at 250 kbit/s
constexpr std::size_t kSenders = 25;
constexpr std::uint32_t kActiveCodes = 65226, kTransferAnnounce = 60416, kTransferData = 60160;

struct Group {
  std::uint32_t group;
  std::uint8_t priority;
  std::int64_t period_ms;
};
constexpr std::array<Group, 8> kEngine = {{{61444, 3, 20},
                                           {61443, 3, 50},
                                           {65265, 6, 100},
                                           {65266, 6, 100},
                                           {65262, 6, 1000},
                                           {65263, 6, 500},
                                           {65269, 6, 1000},
                                           {65270, 6, 500}}};
constexpr std::array<Group, 4> kOther = {{{65271, 6, 1000}, {65215, 6, 100}, {61441, 6, 100}, {65198, 6, 1000}}};

std::uint32_t identifier(std::uint32_t group, std::uint8_t priority, std::uint8_t source) {
  const std::uint32_t to = (group >> 8 & 0xFF) < 240 ? 0xFF00U : 0U;  // to all
  return std::uint32_t{priority} << 26 | (group | to >> 8) << 8 | source;
}

}  // namespace

Traffic::Traffic(std::uint64_t seed) : rng_(seed) {
  for (const Group& group : kEngine) add(group.group, group.priority, 0, group.period_ms * 1000);
  for (std::size_t sender = 1; sender < kSenders; ++sender) {
    const auto source = static_cast<std::uint8_t>(sender * 7);
    for (const Group& group : kOther)
      if (rng_.chance(0.7)) add(group.group, group.priority, source, group.period_ms * 1000);
    add(static_cast<std::uint32_t>(65280 + sender), 6, source, 250'000);  // a group of its maker
    add(kActiveCodes, 6, source, 1'000'000);
    messages_.back().codes = true;
  }
}

void Traffic::add(std::uint32_t group, std::uint8_t priority, std::uint8_t source, std::int64_t period_us) {
  Message message;
  message.id = identifier(group, priority, source);
  message.period_us = period_us;
  messages_.push_back(message);
  due_.push({kStartUs + 300'000 + static_cast<std::int64_t>(rng_.below(static_cast<std::uint64_t>(period_us))),
             messages_.size() - 1});
}

void Traffic::next(std::span<can::Frame> into) {
  for (can::Frame& frame : into) {
    frame = {};
    frame.line = ++line_;
    frame.extended = true;
    frame.length = 8;
    frame.data.fill(0xFF);
    if (claims_ < kSenders) {
      frame.time_us = kStartUs + static_cast<std::int64_t>(claims_) * 10'000;
      frame.id = identifier(60928, 6, static_cast<std::uint8_t>(claims_ * 7));
      for (std::size_t i = 0; i < 8; ++i) frame.data[i] = static_cast<std::uint8_t>(rng_.below(256));
      ++claims_;
      continue;
    }
    const Due due = due_.top();
    due_.pop();
    Message& message = messages_[due.message];
    frame.time_us = std::max(due.time_us, bus_free_us_);
    bus_free_us_ = frame.time_us + kFrameUs;
    fill(message, frame);
    const auto jitter = static_cast<std::int64_t>(rng_.below(400)) - 200;
    due_.push({message.broadcast > 0 ? due.time_us + 50'000 : due.time_us + message.period_us + jitter, due.message});
  }
}

void Traffic::fill(Message& message, can::Frame& frame) {
  frame.id = message.id;
  if (message.codes) return fill_codes(message, frame);
  ++message.step;
  for (std::size_t i = 0; i < 6; ++i) frame.data[i] = static_cast<std::uint8_t>(rng_.below(250));
  frame.data[6] = message.step;
}

// Every third sender has three codes, told by broadcast in two packets; every fifth has one; the others none.
void Traffic::fill_codes(Message& message, can::Frame& frame) {
  const auto source = static_cast<std::uint8_t>(message.id);
  frame.data = {0x00, 0xFF, 0x00, 0x00, 0x00, 0x00, 0xFF, 0xFF};
  if (source % 3 != 0) {
    if (source % 5 == 0) frame.data = {0x04, 0xFF, 0x9D, 0x00, 0x03, 0x01, 0xFF, 0xFF};  // SPN 157 FMI 3
    return;
  }
  if (message.broadcast == 0) {
    frame.id = identifier(kTransferAnnounce, 7, source);
    frame.data = {0x20, 14, 0, 2, 0xFF, 0xCA, 0xFE, 0x00};
    message.broadcast = 2;
    return;
  }
  frame.id = identifier(kTransferData, 7, source);
  if (message.broadcast == 2)
    frame.data = {1, 0x04, 0xFF, 0x9D, 0x00, 0x03, 0x01, 0x64};
  else
    frame.data = {2, 0x00, 0x04, 0x02, 0xBE, 0x00, 0x02, 0x01};
  --message.broadcast;
}

}  // namespace halfsplit::test
