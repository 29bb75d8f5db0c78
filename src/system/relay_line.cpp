// SPDX-License-Identifier: Apache-2.0
#include "system/relay_line.h"

namespace halfsplit::system {

void RelayLine::help() {
  std::unique_lock lock(mutex_);
  for (;;) {
    const Duty duty = find_duty();
    if (duty == Duty::kOver) return news_.notify_all();
    if (duty != Duty::kNone) {
      do_duty(duty, lock);
      continue;
    }
    ++asleep_;
    news_.wait(lock, [this] { return worth_waking(); });
    --asleep_;
  }
}

RelayLine::Duty RelayLine::find_duty() const {
  if (unwanted_ || (all_fetched_ && handed_ == fetched_)) return Duty::kOver;
  if (!handing_ && handed_ < taken_ && places_[place_of(handed_)].worked) return Duty::kHandOn;
  if (taken_ < fetched_) return Duty::kWork;
  if (!fetching_ && !all_fetched_ && fetched_ - handed_ < pieces_.places) return Duty::kFetch;
  return Duty::kNone;
}

bool RelayLine::worth_waking() const {
  const Duty duty = find_duty();
  if (duty == Duty::kFetch) return 2 * (fetched_ - handed_) <= pieces_.places;
  return duty != Duty::kNone;
}

void RelayLine::do_duty(Duty duty, std::unique_lock<std::mutex>& lock) {
  switch (duty) {
    case Duty::kHandOn:
      return hand_on(lock);
    case Duty::kWork:
      return work(lock);
    case Duty::kFetch:
      return fetch(lock);
    case Duty::kNone:
    case Duty::kOver:
      return;
  }
}

void RelayLine::hand_on(std::unique_lock<std::mutex>& lock) {
  handing_ = true;
  const std::size_t place = place_of(handed_);
  const bool wanted = call(handed_, lock, [&] { return pieces_.hand_on(place); });
  handing_ = false;
  places_[place].used = places_[place].worked = false;
  ++handed_;
  unwanted_ = unwanted_ || !wanted;
}

void RelayLine::work(std::unique_lock<std::mutex>& lock) {
  const std::uint64_t piece = taken_++;
  const std::size_t place = place_of(piece);
  places_[place].worker = std::this_thread::get_id();
  (void)call(piece, lock, [&] {
    pieces_.work(place);
    return true;
  });
  places_[place].worked = true;
}

void RelayLine::fetch(std::unique_lock<std::mutex>& lock) {
  fetching_ = true;
  const std::size_t place = free_place();
  const bool more = call(fetched_, lock, [&] { return pieces_.fetch(place); });
  fetching_ = false;
  if (more) {
    places_[place].used = true;
    place_of(fetched_++) = place;
  } else {
    all_fetched_ = true;
  }
}

// Best one that this thread worked, then one that nobody did. There is one free.
std::size_t RelayLine::free_place() const {
  std::size_t best = places_.size();
  for (std::size_t p = 0; p < places_.size(); ++p) {
    if (places_[p].used) continue;
    if (places_[p].worker == std::this_thread::get_id()) return p;
    const bool nobodys = places_[p].worker == std::thread::id();
    if (best == places_.size() || (nobodys && places_[best].worker != std::thread::id())) best = p;
  }
  return best;
}

// With the lock open. Whoever takes a duty wakes another when there is one more: what it will do itself next is no
// reason to. What is thrown ends the relay.
template <class Call>
bool RelayLine::call(std::uint64_t piece, std::unique_lock<std::mutex>& lock, Call what) {
  if (asleep_ > 0 && worth_waking()) news_.notify_one();
  lock.unlock();
  std::exception_ptr thrown;
  bool answer = false;
  try {
    answer = what();
  } catch (...) {
    thrown = std::current_exception();
  }
  lock.lock();
  if (!thrown) return answer;
  if (!failure_ || piece < failed_piece_) {
    failure_ = thrown;
    failed_piece_ = piece;
  }
  unwanted_ = true;
  return false;
}

void RelayLine::rethrow() const {
  if (failure_) std::rethrow_exception(failure_);
}

}  // namespace halfsplit::system
