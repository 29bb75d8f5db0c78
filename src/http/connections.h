// SPDX-License-Identifier: Apache-2.0
// Every open connection with what it is doing and since when, so that nobody holds one for long: a request must be
// complete, and an answer taken, within a deadline that counts from its beginning, however lively the line is in
// between. Caps how many there are, in all and from one address. Safe for several threads. Sockets belong to the HTTP
// library; here they are only shut down, never closed. A peer that left in the middle of its request, which the library
// may not notice when the end came with the last bytes, is let go after two seconds.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "base/cancel.h"

namespace halfsplit::http {

enum class Phase { kFresh, kIdle, kReading, kReadingMuch, kReadingFile, kWorking, kSending, kStreaming };

class Connections {
 public:
  // False: too many. Counts only what opened() was told of.
  [[nodiscard]] bool may_open(const std::string& peer);
  void opened(int socket, const std::string& peer, std::int64_t now_ms);
  void closed(int socket);
  void enter(int socket, Phase phase, std::int64_t now_ms);
  // What works for this connection; cancelled when the peer goes away.
  void works(int socket, const base::CancelToken& cancel, std::int64_t now_ms);

  // Shuts down what is past its deadline and cancels the work of peers that are gone; how many were shut down in the
  // middle of something, those left out that asked nothing: browsers keep such lines.
  std::size_t look_after(std::int64_t now_ms);
  [[nodiscard]] std::size_t count();

 private:
  struct Connection {
    std::string peer;
    Phase phase = Phase::kFresh;
    std::int64_t since_ms = 0;
    std::int64_t gone_since_ms = 0;  // 0: the peer is there, or not looked at
    bool cut = false;
    std::optional<base::CancelToken> cancel;
  };
  std::mutex mutex_;
  std::map<int, Connection> open_;
};

}  // namespace halfsplit::http
