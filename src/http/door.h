// SPDX-License-Identifier: Apache-2.0
// What each route does, once the gate has let a request in. Safe for several threads.
#pragma once

#include <cstdint>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "base/seams.h"
#include "http/answer.h"
#include "http/events.h"
#include "http/gate.h"
#include "http/log.h"
#include "http/page.h"
#include "http/runs.h"

namespace halfsplit::http {

class Door {
 public:
  struct Setup {
    Gate::Options gate;
    std::string lan_host;  // what a phone's address begins with, "192.168.1.20:8471"; empty: no phones
    const std::vector<PageFile>& page;
    Runs::Setup runs;
    SecretMaker make_secret;
  };

  Door(Setup setup, Log& log);

  [[nodiscard]] Decision decide(const RequestHead& head, std::int64_t now_ms);
  // Of a refusal, as a JSON reply, or in words where somebody looks at it.
  [[nodiscard]] static Answer refusal(const Decision& decision, const RequestHead& head);

  // Everything but operations and events.
  [[nodiscard]] Answer answer(const Decision& decision, const RequestHead& head, const std::string& body,
                              std::int64_t now_ms);
  // What came with the request: in memory, or (a recording) on disk.
  struct Body {
    const std::string& bytes;
    std::shared_ptr<Spool> spool;
  };
  // Where the body of a recording goes; none: there is no room for one now.
  [[nodiscard]] std::shared_ptr<Spool> make_spool() const;
  // Runs the operation; `done` is called once, from another thread or at once.
  void run(const Decision& decision, const Body& body, const base::CancelToken& cancel,
           std::function<void(Answer)> done);

  [[nodiscard]] Events& events() { return events_; }
  [[nodiscard]] std::string make_start_path();
  // Path of a new pairing address; none without --lan.
  [[nodiscard]] std::string make_pairing_address(std::int64_t now_ms);
  [[nodiscard]] const std::string& lan_host() const { return setup_.lan_host; }
  void stop();

 private:
  [[nodiscard]] Answer asset(const Decision& decision, const RequestHead& head) const;
  [[nodiscard]] Answer photo(const Decision& decision) const;
  [[nodiscard]] Answer start(const Decision& decision, const RequestHead& head, std::int64_t now_ms);
  [[nodiscard]] static Answer pair_form(const Decision& decision);
  [[nodiscard]] Answer pair(const RequestHead& head, const std::string& body, std::int64_t now_ms);
  [[nodiscard]] Answer cancel(const std::string& body);
  [[nodiscard]] Answer who(const Decision& decision);
  [[nodiscard]] Answer devices(std::int64_t now_ms);
  [[nodiscard]] Answer revoke(const std::string& body);
  [[nodiscard]] Answer new_pairing(std::int64_t now_ms);
  [[nodiscard]] std::string cookie_header(const std::string& value) const;

  Setup setup_;
  Log& log_;
  std::mutex mutex_;  // of the gate
  Gate gate_;
  Events events_;
  Runs runs_;
};

}  // namespace halfsplit::http
