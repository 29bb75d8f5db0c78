// SPDX-License-Identifier: Apache-2.0
#include "http/events.h"

#include <algorithm>
#include <vector>

namespace halfsplit::http {

namespace {
constexpr std::size_t kMostUnread = std::size_t{256} << 10U;  // bytes; who is further behind is let go
}

std::string format_event(std::string_view name, std::string_view data) {
  std::string frame = "event: ";
  frame.append(name).append("\ndata: ").append(data).append("\n\n");
  return frame;
}

std::size_t Listener::take(char* into, std::size_t most, bool& ended) {
  const std::lock_guard lock(mutex_);
  const std::size_t count = std::min(most, waiting_.size());
  std::copy_n(waiting_.begin(), count, into);
  waiting_.erase(0, count);
  ended = ended_ && waiting_.empty();
  return count;
}

bool Listener::fall_asleep() {
  const std::lock_guard lock(mutex_);
  asleep_ = waiting_.empty() && !ended_;
  return asleep_;
}

bool Listener::put(const std::string& frame) {
  const std::lock_guard lock(mutex_);
  if (ended_) return false;
  if (waiting_.size() + frame.size() > kMostUnread) {
    waiting_.clear();
    ended_ = true;
  } else {
    waiting_ += frame;
  }
  return std::exchange(asleep_, false);
}

bool Listener::end() {
  const std::lock_guard lock(mutex_);
  ended_ = true;
  return std::exchange(asleep_, false);
}

std::shared_ptr<Listener> Events::listen(std::string job, int session, std::function<void()> wake) {
  auto listener = std::make_shared<Listener>(std::move(job), session, std::move(wake));
  // At once, so that the browser knows the stream is open; and when to come back after it was lost.
  (void)listener->put("retry: 1000\n: halfsplit\n\n");
  const std::lock_guard lock(mutex_);
  if (closed_) (void)listener->end();
  listeners_.emplace(listener.get(), listener);
  return listener;
}

void Events::forget(const std::shared_ptr<Listener>& listener) {
  const std::lock_guard lock(mutex_);
  listeners_.erase(listener.get());
}

template <class Wanted, class Act>
void Events::each(Wanted wanted, Act act) {
  // Waking is done under this lock too: forget() then waits for it, and no wake-up meets a connection that is gone.
  const std::lock_guard lock(mutex_);
  for (const auto& [key, listener] : listeners_)
    if (wanted(*listener) && act(*listener)) listener->wake_();
}

void Events::tell(const std::string& job, std::string_view name, std::string_view data) {
  const std::string frame = format_event(name, data);
  each([&](const Listener& one) { return job.empty() || one.job_.empty() || one.job_ == job; },
       [&](Listener& one) { return one.put(frame); });
}

void Events::heartbeat() {
  each([](const Listener&) { return true; }, [](Listener& one) { return one.put(": beat\n\n"); });
}

void Events::end_session(int session) {
  each([&](const Listener& one) { return one.session_ == session; }, [](Listener& one) { return one.end(); });
}

void Events::end_all() {
  {
    const std::lock_guard lock(mutex_);
    closed_ = true;
  }
  each([](const Listener&) { return true; }, [](Listener& one) { return one.end(); });
}

std::size_t Events::count() {
  const std::lock_guard lock(mutex_);
  return listeners_.size();
}

}  // namespace halfsplit::http
