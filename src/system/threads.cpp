// SPDX-License-Identifier: Apache-2.0
// One counter of parts for each run. Whoever is free takes the next part; the caller takes parts as well and then waits
// for those still at work.
#include "system/threads.h"

#include <algorithm>
#include <condition_variable>
#include <exception>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

#include "system/relay_line.h"

namespace halfsplit::system {

struct Threads::Pool {
  std::mutex mutex;
  std::condition_variable work, done;
  const std::function<void(std::size_t)>* task = nullptr;
  std::size_t count = 0, next = 0, finished = 0;
  std::size_t failed_part = 0;  // of `failure`
  std::exception_ptr failure;
  bool stopping = false;
  std::vector<std::thread> threads;

  explicit Pool(std::size_t helpers) {
    for (std::size_t i = 0; i < helpers; ++i) threads.emplace_back([this] { help(); });
  }
  ~Pool() {
    {
      const std::lock_guard lock(mutex);
      stopping = true;
    }
    work.notify_all();
    for (std::thread& thread : threads) thread.join();
  }

  void help() {
    std::unique_lock lock(mutex);
    for (;;) {
      work.wait(lock, [this] { return stopping || next < count; });
      if (stopping) return;
      take_parts(lock);
    }
  }

  // Takes parts until none are left; the lock is open while one is worked.
  void take_parts(std::unique_lock<std::mutex>& lock) {
    while (next < count) {
      const std::size_t part = next++;
      const auto* what = task;
      lock.unlock();
      std::exception_ptr thrown;
      try {
        (*what)(part);
      } catch (...) {
        thrown = std::current_exception();
      }
      lock.lock();
      if (thrown && (!failure || part < failed_part)) {
        failure = thrown;
        failed_part = part;
      }
      if (++finished == count) done.notify_all();
    }
  }

  void run(std::size_t parts, const std::function<void(std::size_t)>& what) {
    std::unique_lock lock(mutex);
    task = &what;
    count = parts;
    next = finished = 0;
    failure = nullptr;
    work.notify_all();
    take_parts(lock);
    done.wait(lock, [this] { return finished == count; });
    count = next = finished = 0;
    task = nullptr;
    if (failure) std::rethrow_exception(std::exchange(failure, nullptr));
  }
};

Threads::Threads(std::size_t hands)
    : hands_(hands > 0 ? hands : std::max<std::size_t>(1, std::thread::hardware_concurrency())) {}

Threads::~Threads() = default;

void Threads::run(std::size_t count, const std::function<void(std::size_t)>& task) {
  if (hands_ == 1 || count < 2) {
    for (std::size_t part = 0; part < count; ++part) task(part);
    return;
  }
  if (!pool_) pool_ = std::make_unique<Pool>(hands_ - 1);
  pool_->run(count, task);
}

void Threads::relay(const base::Relay& pieces) {
  if (hands_ == 1 || pieces.places < 2) return Workers::relay(pieces);
  RelayLine line(pieces);
  run(hands_, [&line](std::size_t) { line.help(); });
  line.rethrow();
}

}  // namespace halfsplit::system
