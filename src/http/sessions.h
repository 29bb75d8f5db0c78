// SPDX-License-Identifier: Apache-2.0
// Who is let in. The screen at this machine comes in by a start secret, once; a phone by a pairing secret, once and
// within minutes. Both then carry a cookie. In memory only. Not safe for several threads: the server holds a lock.
// A wrong pairing secret counts against the address it came from: after five it may not guess again for a minute, and
// after a thousand from anywhere the secret is withdrawn. Those who are in are never locked out by guesses.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "http/secret.h"

namespace halfsplit::http {

struct Session {
  int number = 0;  // for people: device 2
  bool here = false;
  std::string name;     // a phone's, as its user gave it
  std::string address;  // where it came in from
  std::int64_t since_ms = 0;
  std::string cookie;
};

enum class PairOutcome { kPaired, kWrong, kNone, kLocked, kFull };

struct Paired {
  PairOutcome outcome = PairOutcome::kNone;
  std::string cookie;
  int number = 0;
};

class Sessions {
 public:
  explicit Sessions(SecretMaker make) : make_(std::move(make)) {}

  [[nodiscard]] std::string make_start();
  // The cookie of a new session of this machine; none: not the start secret, or used before.
  [[nodiscard]] std::optional<std::string> use_start(std::string_view guess, std::int64_t now_ms);

  // Good for five minutes and one phone; an older one is withdrawn.
  [[nodiscard]] std::string make_pairing(std::int64_t now_ms);
  [[nodiscard]] std::optional<std::int64_t> pairing_ends_ms() const;
  [[nodiscard]] Paired pair(std::string_view guess, const std::string& name, const std::string& address,
                            std::int64_t now_ms);

  [[nodiscard]] const Session* find(std::string_view cookie) const;
  [[nodiscard]] const std::vector<Session>& all() const { return sessions_; }
  // False: there is no phone of that number.
  bool revoke(int number);

 private:
  struct Guesses {
    int wrong = 0;
    std::int64_t locked_until_ms = 0;
  };
  Paired count_wrong(const std::string& address, std::int64_t now_ms);

  SecretMaker make_;
  std::vector<std::string> starts_;  // not used yet; the newest last
  std::string pairing_;
  std::int64_t pairing_ends_ms_ = 0;
  int wrong_guesses_ = 0;
  std::map<std::string, Guesses> guesses_;
  std::vector<Session> sessions_;
  int next_number_ = 1;
};

}  // namespace halfsplit::http
