// SPDX-License-Identifier: Apache-2.0
#include "http/serve.h"

#include <poll.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <memory>
#include <system_error>
#include <thread>

#include "app/book_files.h"
#include "http/addresses.h"
#include "http/qr.h"
#include "http/serve_options.h"
#include "http/server.h"
#include "system/browser.h"
#include "system/own_meter.h"
#include "system/posix_files.h"
#include "system/system_clock.h"

namespace halfsplit::http {

namespace {

constexpr int kInput = 3;
constexpr int kMorePorts = 10;

struct Listening {
  std::vector<int> sockets;
  std::vector<Address> addresses;
  int port = 0;
  int error = 0;  // why there is none
};

void close_all(Listening& listening) {
  for (const int socket : listening.sockets) ::close(socket);
  listening = {};
}

// All addresses at one port, or none. An address that this machine does not have at the moment is left out.
Listening listen_at_all(const std::vector<Address>& addresses, int port) {
  Listening listening;
  listening.port = port;
  for (const Address& address : addresses) {
    const int socket = listen_at(address, listening.port);
    if (socket == -EADDRNOTAVAIL || socket == -EAFNOSUPPORT) continue;
    if (socket < 0) {
      close_all(listening);
      listening.error = -socket;
      return listening;
    }
    listening.sockets.push_back(socket);
    listening.addresses.push_back(address);
    if (listening.port == 0) listening.port = port_of(socket);  // the system chose; the others take the same
  }
  if (listening.sockets.empty()) listening.error = EADDRNOTAVAIL;
  return listening;
}

Listening find_port(const std::vector<Address>& addresses, const std::optional<int>& told) {
  if (told) return listen_at_all(addresses, *told);
  Listening listening;
  for (int port = kUsualPort; port <= kUsualPort + kMorePorts; ++port) {
    listening = listen_at_all(addresses, port);
    if (listening.error != EADDRINUSE) break;
  }
  return listening;
}

std::vector<std::string> hosts_of(const Listening& listening) {
  std::vector<std::string> hosts;
  for (const Address& address : listening.addresses) hosts.push_back(host_of(address, listening.port));
  hosts.push_back("localhost:" + std::to_string(listening.port));
  return hosts;
}

std::string lan_host_of(const Listening& listening) {
  for (const bool six : {false, true})
    for (const Address& address : listening.addresses)
      if (!address.here && address.six == six) return host_of(address, listening.port);
  return "";
}

std::int64_t clock_ms() {
  const auto since = std::chrono::steady_clock::now().time_since_epoch();
  return std::chrono::duration_cast<std::chrono::milliseconds>(since).count();
}

void print_start(const std::string& address) {
  std::printf("Open this once in the browser of this machine:\n  %s\n", address.c_str());
}

void print_others(const Listening& listening, const std::string& lan_host) {
  for (const Address& address : listening.addresses)
    if (!address.here && host_of(address, listening.port) != lan_host)
      std::printf("(also at %s)\n", host_of(address, listening.port).c_str());
}

void print_pairing(Door& door) {
  if (door.lan_host().empty()) return;
  const std::string address = door.make_pairing_address(clock_ms());
  std::printf("\nFor the phone, once and within five minutes:\n\n%s\n  %s\n\n", qr_text(address).c_str(),
              address.c_str());
}

constexpr const char* kLanWarning =
    "\nWARNING: this serves the network, and what travels is not encrypted. Whoever can listen on this network can "
    "read\n"
    "along and could take a phone's place. Use a network of your own (the phone's hotspot), not a customer's or an "
    "open\n"
    "one. Only a paired phone is let in; the page lets it go again.\n";

// Until Ctrl-C or the like; Enter gives a new address.
void wait_for_end(int signals, Door& door, const std::string& base) {
  std::array<pollfd, 2> waits{{{signals, POLLIN, 0}, {STDIN_FILENO, POLLIN, 0}}};
  if (::isatty(STDIN_FILENO) == 0) waits[1].fd = -1;
  for (;;) {
    if (::poll(waits.data(), waits.size(), -1) < 0 && errno != EINTR) return;
    if ((waits[0].revents & POLLIN) != 0) return;
    if (waits[1].revents == 0) continue;
    std::array<char, 256> line{};
    if (::read(STDIN_FILENO, line.data(), line.size()) <= 0) {
      waits[1].fd = -1;
      continue;
    }
    print_start(base + door.make_start_path());
    print_pairing(door);
    std::fflush(stdout);
  }
}

// Blocked before any thread begins, so that all of them leave signals to wait_for_end.
int open_signals() {
  sigset_t set;
  sigemptyset(&set);
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) sigaddset(&set, signal);
  ::pthread_sigmask(SIG_BLOCK, &set, nullptr);
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGCHLD, SIG_IGN);  // of xdg-open; nobody waits for it
  return ::signalfd(-1, &set, SFD_CLOEXEC);
}

std::unique_ptr<system::LeadingPage> open_browser(const ServeOptions& options, const std::string& address) {
  if (options.no_browser || !system::has_screen()) return nullptr;
  auto page = std::make_unique<system::LeadingPage>(address);
  if (page->path().empty() || !system::open_in_browser(page->path()))
    std::printf("(no browser could be opened: xdg-open is missing)\n");
  return page;
}

int no_address(const Listening& listening, const ServeOptions& options) {
  const std::string port = std::to_string(options.port.value_or(kUsualPort));
  std::fprintf(stderr, "error: cannot listen at port %s: %s [http.no-address]\n  name another with --port\n",
               port.c_str(), std::system_category().message(listening.error).c_str());
  return kInput;
}

int no_library() {
  std::fprintf(stderr,
               "error: libmicrohttpd.so.12 could not be loaded or started [http.no-library]\n"
               "  install it: apt-get install libmicrohttpd12\n");
  return kInput;
}

}  // namespace

int run_serve(int argc, char** argv, const std::vector<PageFile>& page) {
  int exit_code = 0;
  const std::optional<ServeOptions> options = read_serve_options(argc, argv, exit_code);
  if (!options) return exit_code;
  std::vector<Address> addresses = loopback_addresses();
  if (options->lan) {
    const std::vector<Address> lan = lan_addresses();
    if (lan.empty())
      std::fprintf(stderr,
                   "error: this machine is in no private network [http.no-network]\n"
                   "  join one (the phone's hotspot), or leave --lan out\n");
    if (lan.empty()) return kInput;
    addresses.insert(addresses.end(), lan.begin(), lan.end());
  }
  const int signals = open_signals();
  const Listening listening = find_port(addresses, options->port);
  if (listening.error != 0) return no_address(listening, *options);
  if (!options->port && listening.port != kUsualPort)
    std::printf("port %d is taken; this is port %d\n", kUsualPort, listening.port);

  Log log;
  system::PosixFiles disk;
  system::SystemClock clock;
  const unsigned threads = std::clamp(std::thread::hardware_concurrency(), 2U, 4U);
  Door door({{hosts_of(listening), "halfsplit_" + std::to_string(listening.port)},
             lan_host_of(listening),
             page,
             {threads, disk, clock, app::find_book_folder(), system::find_own_meter(disk)},
             make_secret},
            log);
  Server server(door, log);
  for (const int socket : listening.sockets)
    if (!server.serve(socket)) return no_library();

  const std::string base = "http://" + host_of(listening.addresses.front(), listening.port);
  const std::string address = base + door.make_start_path();
  print_start(address);
  if (page.empty()) std::printf("(this build has no page: it was built without Node.js; the API answers)\n");
  if (options->lan) std::printf("%s", kLanWarning);
  print_pairing(door);
  print_others(listening, door.lan_host());
  std::printf("Enter prints a new address, Ctrl-C ends.\n");
  std::fflush(stdout);
  const std::unique_ptr<system::LeadingPage> leading = open_browser(*options, address);
  wait_for_end(signals, door, base);
  server.stop();
  std::printf("ended\n");
  return 0;
}

}  // namespace halfsplit::http
