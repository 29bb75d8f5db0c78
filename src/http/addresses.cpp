// SPDX-License-Identifier: Apache-2.0
#include "http/addresses.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>

namespace halfsplit::http {

namespace {

union AnyAddress {
  sockaddr any;
  sockaddr_in four;
  sockaddr_in6 six;
};

bool is_private(const std::string& text, const sockaddr* address) {
  if (address->sa_family == AF_INET6) return text.starts_with("fc") || text.starts_with("fd");
  in_addr four{};
  if (::inet_pton(AF_INET, text.c_str(), &four) != 1) return false;
  const std::uint32_t bits = ntohl(four.s_addr);
  return (bits >> 24U) == 10 || (bits >> 20U) == 0xAC1 || (bits >> 16U) == 0xC0A8;
}

// The address from which this machine would reach others: asked of the routing table by connecting a datagram socket to
// a documentation address (RFC 5737); that sends nothing.
std::string address_of_route() {
  const int socket = ::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (socket < 0) return "";
  AnyAddress at{};
  at.four.sin_family = AF_INET;
  at.four.sin_port = htons(9);
  ::inet_pton(AF_INET, "192.0.2.1", &at.four.sin_addr);
  socklen_t length = sizeof at;
  const bool known = ::connect(socket, &at.any, sizeof at.four) == 0 && ::getsockname(socket, &at.any, &length) == 0;
  ::close(socket);
  return known ? peer_text(&at.any) : "";
}

}  // namespace

std::string host_of(const Address& address, int port) {
  return (address.six ? "[" + address.text + "]" : address.text) + ":" + std::to_string(port);
}

std::vector<Address> loopback_addresses() { return {{"127.0.0.1", false, true}, {"::1", true, true}}; }

std::vector<Address> lan_addresses() {
  std::vector<Address> found;
  ifaddrs* list = nullptr;
  if (::getifaddrs(&list) != 0) return found;
  for (const ifaddrs* one = list; one != nullptr; one = one->ifa_next) {
    if (one->ifa_addr == nullptr || (one->ifa_flags & IFF_UP) == 0 || (one->ifa_flags & IFF_LOOPBACK) != 0) continue;
    const std::string text = peer_text(one->ifa_addr);
    if (text != "?" && is_private(text, one->ifa_addr))
      found.push_back({text, one->ifa_addr->sa_family == AF_INET6, false});
  }
  ::freeifaddrs(list);
  const std::string first = address_of_route();
  std::stable_partition(found.begin(), found.end(), [&](const Address& one) { return one.text == first; });
  return found;
}

int listen_at(const Address& address, int port) {
  AnyAddress at{};
  socklen_t length = 0;
  if (address.six) {
    at.six.sin6_family = AF_INET6;
    at.six.sin6_port = htons(static_cast<std::uint16_t>(port));
    ::inet_pton(AF_INET6, address.text.c_str(), &at.six.sin6_addr);
    length = sizeof at.six;
  } else {
    at.four.sin_family = AF_INET;
    at.four.sin_port = htons(static_cast<std::uint16_t>(port));
    ::inet_pton(AF_INET, address.text.c_str(), &at.four.sin_addr);
    length = sizeof at.four;
  }
  const int socket = ::socket(address.six ? AF_INET6 : AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  if (socket < 0) return -errno;
  const int yes = 1;
  ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  if (address.six) ::setsockopt(socket, IPPROTO_IPV6, IPV6_V6ONLY, &yes, sizeof yes);
  if (::bind(socket, &at.any, length) == 0 && ::listen(socket, 64) == 0) return socket;
  const int error = errno;
  ::close(socket);
  return -error;
}

int port_of(int socket) {
  AnyAddress at{};
  socklen_t length = sizeof at;
  if (::getsockname(socket, &at.any, &length) != 0) return 0;
  return ntohs(at.any.sa_family == AF_INET6 ? at.six.sin6_port : at.four.sin_port);
}

std::string peer_text(const sockaddr* peer) {
  std::array<char, INET6_ADDRSTRLEN> text{};
  AnyAddress at{};
  if (peer == nullptr) return "?";
  if (peer->sa_family == AF_INET) {
    std::memcpy(&at.four, peer, sizeof at.four);
    ::inet_ntop(AF_INET, &at.four.sin_addr, text.data(), text.size());
  } else if (peer->sa_family == AF_INET6) {
    std::memcpy(&at.six, peer, sizeof at.six);
    if (IN6_IS_ADDR_V4MAPPED(&at.six.sin6_addr))
      ::inet_ntop(AF_INET, &at.six.sin6_addr.s6_addr[12], text.data(), text.size());
    else
      ::inet_ntop(AF_INET6, &at.six.sin6_addr, text.data(), text.size());
  } else {
    return "?";
  }
  return text.data();
}

bool is_loopback(const std::string& address) { return address == "::1" || address.starts_with("127."); }

}  // namespace halfsplit::http
