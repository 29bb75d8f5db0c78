// SPDX-License-Identifier: Apache-2.0
// Where the server listens: sockets bound to single addresses of this machine, never to all.
#pragma once

#include <string>
#include <utility>
#include <vector>

struct sockaddr;

namespace halfsplit::http {

struct Address {
  std::string text;  // "127.0.0.1", "::1", "192.168.1.20"
  bool six = false;
  bool here = false;  // loopback
};

// "192.168.1.20:8471", "[::1]:8471": as it stands in Host and in an address.
[[nodiscard]] std::string host_of(const Address& address, int port);

[[nodiscard]] std::vector<Address> loopback_addresses();
// Of the interfaces that are up, in private ranges (RFC 1918, RFC 4193); link-local ones are left out. The
// one of the default route comes first.
[[nodiscard]] std::vector<Address> lan_addresses();

// A listening socket; below 0: minus errno.
[[nodiscard]] int listen_at(const Address& address, int port);
[[nodiscard]] int port_of(int socket);

// The peer's address as text; IPv4 in IPv6 is shown as IPv4. "?" for anything else.
[[nodiscard]] std::string peer_text(const ::sockaddr* peer);
[[nodiscard]] bool is_loopback(const std::string& address);

}  // namespace halfsplit::http
