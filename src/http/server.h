// SPDX-License-Identifier: Apache-2.0
// The door on the wire: libmicrohttpd parses and writes HTTP/1.1, one thread for each address listened at; nothing here
// blocks it. A request that runs an operation, and an event stream with nothing to say, are set aside until there is
// something to send.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "http/door.h"

namespace halfsplit::http {

class Server {
 public:
  explicit Server(Door& door, Log& log);
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  // Takes the listening socket over. False: the library did not start.
  [[nodiscard]] bool serve(int socket);
  // Lets everybody go and waits for it. The door is stopped too.
  void stop();

  class Wire;

 private:
  std::unique_ptr<Wire> wire_;
};

}  // namespace halfsplit::http
