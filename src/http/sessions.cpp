// SPDX-License-Identifier: Apache-2.0
#include "http/sessions.h"

#include <algorithm>

namespace halfsplit::http {

namespace {

constexpr std::int64_t kPairingMs = 5 * 60 * 1000;
constexpr std::int64_t kLockedMs = 60 * 1000;
constexpr int kWrongPerAddress = 5;
constexpr int kWrongInAll = 1000;
constexpr std::size_t kMostAddresses = 1024;
constexpr std::size_t kMostStarts = 4;
constexpr std::size_t kMostPhones = 16;
constexpr std::size_t kMostHere = 16;

// Neighbours in one IPv6 network are one guesser: its first four groups.
std::string guesser(const std::string& address) {
  if (address.find(':') == std::string::npos) return address;
  std::size_t cut = 0;
  for (int groups = 0; groups < 4 && cut != std::string::npos; ++groups) cut = address.find(':', cut + 1);
  return address.substr(0, cut);
}

}  // namespace

std::string Sessions::make_start() {
  if (starts_.size() >= kMostStarts) starts_.erase(starts_.begin());
  return starts_.emplace_back(make_());
}

std::optional<std::string> Sessions::use_start(std::string_view guess, std::int64_t now_ms) {
  std::size_t found = starts_.size();
  for (std::size_t i = 0; i < starts_.size(); ++i)
    if (same_secret(starts_[i], guess)) found = i;
  if (found == starts_.size()) return std::nullopt;
  starts_.erase(starts_.begin() + static_cast<std::ptrdiff_t>(found));
  if (std::count_if(sessions_.begin(), sessions_.end(), [](const Session& s) { return s.here; }) >=
      static_cast<std::ptrdiff_t>(kMostHere))
    sessions_.erase(std::find_if(sessions_.begin(), sessions_.end(), [](const Session& s) { return s.here; }));
  sessions_.push_back({next_number_++, true, "this machine", "", now_ms, make_()});
  return sessions_.back().cookie;
}

std::string Sessions::make_pairing(std::int64_t now_ms) {
  pairing_ = make_();
  pairing_ends_ms_ = now_ms + kPairingMs;
  wrong_guesses_ = 0;
  return pairing_;
}

std::optional<std::int64_t> Sessions::pairing_ends_ms() const {
  return pairing_.empty() ? std::nullopt : std::optional<std::int64_t>(pairing_ends_ms_);
}

Paired Sessions::count_wrong(const std::string& address, std::int64_t now_ms) {
  if (guesses_.size() >= kMostAddresses && !guesses_.contains(guesser(address)))
    std::erase_if(guesses_, [&](const auto& one) { return one.second.locked_until_ms <= now_ms; });
  if (guesses_.size() >= kMostAddresses && !guesses_.contains(guesser(address))) guesses_.clear();
  Guesses& guesses = guesses_[guesser(address)];
  if (++guesses.wrong >= kWrongPerAddress) guesses = {0, now_ms + kLockedMs};
  if (++wrong_guesses_ >= kWrongInAll) pairing_.clear();
  return {PairOutcome::kWrong, "", 0};
}

Paired Sessions::pair(std::string_view guess, const std::string& name, const std::string& address,
                      std::int64_t now_ms) {
  const auto known = guesses_.find(guesser(address));
  if (known != guesses_.end() && known->second.locked_until_ms > now_ms) return {PairOutcome::kLocked, "", 0};
  if (pairing_.empty() || now_ms >= pairing_ends_ms_) {
    pairing_.clear();
    return {PairOutcome::kNone, "", 0};
  }
  if (!same_secret(pairing_, guess)) return count_wrong(address, now_ms);
  if (std::count_if(sessions_.begin(), sessions_.end(), [](const Session& s) { return !s.here; }) >=
      static_cast<std::ptrdiff_t>(kMostPhones))
    return {PairOutcome::kFull, "", 0};
  pairing_.clear();
  sessions_.push_back({next_number_++, false, name, address, now_ms, make_()});
  return {PairOutcome::kPaired, sessions_.back().cookie, sessions_.back().number};
}

const Session* Sessions::find(std::string_view cookie) const {
  const Session* found = nullptr;
  for (const Session& session : sessions_)
    if (same_secret(session.cookie, cookie)) found = &session;
  return found;
}

bool Sessions::revoke(int number) {
  return std::erase_if(sessions_, [&](const Session& s) { return !s.here && s.number == number; }) > 0;
}

}  // namespace halfsplit::http
