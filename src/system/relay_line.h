// SPDX-License-Identifier: Apache-2.0
// A relay (base::Relay) worked by several threads at once. Nobody has a post: whoever is free takes what is most
// urgent, handing on before working before fetching, so that a piece mostly stays with the core that fetched it. Who
// finds nothing to do sleeps until half of the places are free, not for each one.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <exception>
#include <mutex>
#include <vector>

#include "base/seams.h"

namespace halfsplit::system {

class RelayLine {
 public:
  explicit RelayLine(const base::Relay& pieces) : pieces_(pieces), worked_(pieces.places, 0) {}

  // Called by each thread; returns when there is nothing left to do. Throws nothing.
  void help();
  // Behind all of them: what was thrown, of several calls that for the first piece.
  void rethrow() const;

 private:
  enum class Duty : std::uint8_t { kNone, kHandOn, kWork, kFetch, kOver };
  [[nodiscard]] Duty find_duty() const;
  [[nodiscard]] bool worth_waking() const;
  void do_duty(Duty duty, std::unique_lock<std::mutex>& lock);
  void hand_on(std::unique_lock<std::mutex>& lock);
  void work(std::unique_lock<std::mutex>& lock);
  void fetch(std::unique_lock<std::mutex>& lock);
  template <class Call>
  bool call(std::uint64_t piece, std::unique_lock<std::mutex>& lock, Call what);

  const base::Relay& pieces_;
  std::mutex mutex_;
  std::condition_variable news_;
  std::uint64_t fetched_ = 0, taken_ = 0, handed_ = 0;  // pieces: fetched, taken to be worked, handed on
  std::vector<char> worked_;                            // by place
  bool fetching_ = false, handing_ = false, all_fetched_ = false, unwanted_ = false;
  std::size_t asleep_ = 0;
  std::exception_ptr failure_;
  std::uint64_t failed_piece_ = 0;
};

}  // namespace halfsplit::system
