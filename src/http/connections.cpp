// SPDX-License-Identifier: Apache-2.0
#include "http/connections.h"

#include <poll.h>
#include <sys/socket.h>

#include <algorithm>

namespace halfsplit::http {

namespace {

constexpr std::size_t kMostConnections = 256;
constexpr std::size_t kMostFromOne = 64;

std::int64_t deadline_ms(Phase phase) {
  switch (phase) {
    case Phase::kIdle:
      return 60'000;
    case Phase::kFresh:
    case Phase::kReading:
      return 10'000;
    case Phase::kReadingMuch:
      return 120'000;  // a photo over a slow radio link
    case Phase::kReadingFile:
      return 600'000;  // 64 MB at 1 Mbit/s
    case Phase::kSending:
      return 60'000;
    default:
      return INT64_MAX;  // work ends by itself or by its peer; streams are watched by what waits for them
  }
}

constexpr std::int64_t kAfterGone_ms = 2'000;  // for what came before the end

bool is_reading(Phase phase) {
  return phase == Phase::kReading || phase == Phase::kReadingMuch || phase == Phase::kReadingFile;
}

bool is_gone(int socket) {
  pollfd one{socket, POLLRDHUP, 0};
  return ::poll(&one, 1, 0) > 0 && (one.revents & (POLLRDHUP | POLLHUP | POLLERR)) != 0;
}

}  // namespace

bool Connections::may_open(const std::string& peer) {
  const std::lock_guard lock(mutex_);
  const auto same = std::count_if(open_.begin(), open_.end(), [&](const auto& one) { return one.second.peer == peer; });
  return open_.size() < kMostConnections && static_cast<std::size_t>(same) < kMostFromOne;
}

void Connections::opened(int socket, const std::string& peer, std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  open_[socket] = {peer, Phase::kFresh, now_ms, 0, false, std::nullopt};
}

void Connections::closed(int socket) {
  const std::lock_guard lock(mutex_);
  open_.erase(socket);
}

void Connections::enter(int socket, Phase phase, std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  const auto found = open_.find(socket);
  if (found == open_.end()) return;
  found->second.phase = phase;
  found->second.gone_since_ms = 0;
  // A longer time to read counts from the beginning too.
  if (phase != Phase::kReadingMuch && phase != Phase::kReadingFile) found->second.since_ms = now_ms;
  found->second.cancel.reset();
}

void Connections::works(int socket, const base::CancelToken& cancel, std::int64_t now_ms) {
  enter(socket, Phase::kWorking, now_ms);
  const std::lock_guard lock(mutex_);
  const auto found = open_.find(socket);
  if (found != open_.end()) found->second.cancel = cancel;
}

std::size_t Connections::look_after(std::int64_t now_ms) {
  const std::lock_guard lock(mutex_);
  std::size_t cut = 0;
  for (auto& [socket, one] : open_) {
    if (one.cancel && !one.cancel->cancelled() && is_gone(socket)) one.cancel->cancel();
    if (!is_reading(one.phase) || !is_gone(socket))
      one.gone_since_ms = 0;
    else if (one.gone_since_ms == 0)
      one.gone_since_ms = now_ms;
    const bool left = one.gone_since_ms != 0 && now_ms - one.gone_since_ms >= kAfterGone_ms;
    if (one.cut || (!left && now_ms - one.since_ms < deadline_ms(one.phase))) continue;
    ::shutdown(socket, SHUT_RDWR);
    one.cut = true;
    if (one.phase != Phase::kFresh && one.phase != Phase::kIdle) ++cut;
  }
  return cut;
}

std::size_t Connections::count() {
  const std::lock_guard lock(mutex_);
  return open_.size();
}

}  // namespace halfsplit::http
