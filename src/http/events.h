// SPDX-License-Identifier: Apache-2.0
// What happened, told to every screen that listens: server-sent events (WHATWG HTML, section 9.2). `changed`: a job, a
// drawing or the profile was written; `progress`: long work on a job; `devices`: a phone came or went. A listener that
// does not read loses its connection, not the server its memory. Safe for several threads. A wake-up may not call back.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <utility>

namespace halfsplit::http {

// A frame of an event stream: "event: changed\ndata: {...}\n\n". `data` is one line.
[[nodiscard]] std::string format_event(std::string_view name, std::string_view data);

class Listener {
 public:
  Listener(std::string job, int session, std::function<void()> wake)
      : job_(std::move(job)), session_(session), wake_(std::move(wake)) {}

  // Takes up to `most` bytes that wait; 0: nothing waits. `ended`: nothing will come any more.
  std::size_t take(char* into, std::size_t most, bool& ended);
  // Marks the listener asleep and says true, unless something waits: then false.
  [[nodiscard]] bool fall_asleep();

 private:
  friend class Events;
  [[nodiscard]] bool put(const std::string& frame);  // true: wake it
  [[nodiscard]] bool end();

  std::string job_;  // empty: all jobs
  int session_;
  std::function<void()> wake_;
  std::mutex mutex_;
  std::string waiting_;
  bool asleep_ = false;
  bool ended_ = false;
};

class Events {
 public:
  [[nodiscard]] std::shared_ptr<Listener> listen(std::string job, int session, std::function<void()> wake);
  void forget(const std::shared_ptr<Listener>& listener);

  // `job` empty: for everybody.
  void tell(const std::string& job, std::string_view name, std::string_view data);
  void heartbeat();
  void end_session(int session);
  void end_all();  // those to come too
  [[nodiscard]] std::size_t count();

 private:
  template <class Wanted, class Act>
  void each(Wanted wanted, Act act);

  std::mutex mutex_;
  std::map<Listener*, std::shared_ptr<Listener>> listeners_;
  bool closed_ = false;
};

}  // namespace halfsplit::http
