// SPDX-License-Identifier: Apache-2.0
// Requests (group 59904), who answered each within kAnswerUs, and acknowledgements (59392).
#pragma once

#include <bitset>
#include <vector>

#include "can/frame.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::int64_t kAnswerUs = 1'250'000;  // SAE J1939-21: 200 ms to answer, 1,250 ms until the asker gives up
constexpr std::size_t kMostRequests = 1024;
constexpr std::size_t kMostWaiting = 64;

class Requests {
 public:
  void ask(const can::Frame& frame, const Mark& mark);
  void acknowledge(const can::Frame& frame, const Mark& mark);
  // Whether anything is asked for and not yet too late; `see` is for then only.
  [[nodiscard]] bool waiting() const { return !waiting_.empty(); }
  // Somebody sent this group. Whether it had been asked for.
  bool see(std::uint8_t channel, std::uint8_t from, std::uint32_t pgn, const Mark& mark);
  // Somebody asked for this group within the last kAnswerUs.
  [[nodiscard]] bool asked(std::uint8_t channel, std::uint32_t pgn, const Mark& mark) const;
  void tell(Findings& findings, const Mark& end);

 private:
  struct Entry {
    Request request;
    std::bitset<256> by;
  };
  struct Waiting {
    std::size_t entry = 0;
    Mark asked;
    bool answered = false, refused = false;
  };
  void expire(std::int64_t now_us);
  void settle(const Waiting& one);

  std::vector<Entry> entries_;
  std::vector<Waiting> waiting_;  // by time
  std::vector<Acknowledged> acknowledged_;
  std::uint64_t not_kept_ = 0;
};

}  // namespace halfsplit::capture
