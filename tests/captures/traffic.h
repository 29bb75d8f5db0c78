// SPDX-License-Identifier: Apache-2.0
// Invented traffic of a J1939 bus at 250 kbit/s from a seed, as long as wanted: 25 senders with the groups and periods
// such units have (SAE J1939-71, repetition rates from memory), address claims at the beginning, active codes in one
// frame or by broadcast in several, requests now and then.
#pragma once

#include <queue>
#include <span>
#include <vector>

#include "base/rng.h"
#include "can/frame.h"

namespace halfsplit::test {

class Traffic {
 public:
  explicit Traffic(std::uint64_t seed);
  // Fills all of `into` with the frames that follow.
  void next(std::span<can::Frame> into);

 private:
  struct Message {
    std::uint32_t id = 0;
    std::int64_t period_us = 0;
    bool codes = false;     // active codes
    int broadcast = 0;      // packets still to come of one
    std::uint8_t step = 0;  // counts its frames
  };
  struct Due {
    std::int64_t time_us;
    std::size_t message;
    bool operator>(const Due& other) const {
      return time_us != other.time_us ? time_us > other.time_us : message > other.message;
    }
  };

  void add(std::uint32_t group, std::uint8_t priority, std::uint8_t source, std::int64_t period_us);
  void fill(Message& message, can::Frame& frame);
  void fill_codes(Message& message, can::Frame& frame);

  base::Rng rng_;
  std::vector<Message> messages_;
  std::priority_queue<Due, std::vector<Due>, std::greater<>> due_;
  std::int64_t bus_free_us_ = 0;
  std::uint64_t line_ = 0;
  std::size_t claims_ = 0;
};

}  // namespace halfsplit::test
