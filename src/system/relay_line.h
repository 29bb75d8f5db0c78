// SPDX-License-Identifier: Apache-2.0
// A relay (base::Relay) worked by several threads at once. Nobody has a post: whoever is free takes what is most
// urgent, handing on before working before fetching, so that a piece mostly stays with the core that fetched it. Who
// fetches takes a free place that it worked before, as what lies there is near its core still. Who finds nothing to do
// sleeps until half of the places are free, not for each one.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "base/seams.h"

namespace halfsplit::system {

class RelayLine {
 public:
  explicit RelayLine(const base::Relay& pieces) : pieces_(pieces), places_(pieces.places), queue_(pieces.places) {}

  // Called by each thread; returns when there is nothing left to do. Throws nothing.
  void help();
  // Behind all of them: what was thrown, of several calls that for the first piece.
  void rethrow() const;

 private:
  enum class Duty : std::uint8_t { kNone, kHandOn, kWork, kFetch, kOver };
  struct Place {
    std::thread::id worker;  // the last one
    bool used = false, worked = false;
  };
  // In which place a piece lies that is not handed on yet.
  std::size_t& place_of(std::uint64_t piece) { return queue_[piece % queue_.size()]; }
  [[nodiscard]] std::size_t place_of(std::uint64_t piece) const { return queue_[piece % queue_.size()]; }
  [[nodiscard]] std::size_t free_place() const;
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
  std::vector<Place> places_;
  std::vector<std::size_t> queue_;
  bool fetching_ = false, handing_ = false, all_fetched_ = false, unwanted_ = false;
  std::size_t asleep_ = 0;
  std::exception_ptr failure_;
  std::uint64_t failed_piece_ = 0;
};

}  // namespace halfsplit::system
