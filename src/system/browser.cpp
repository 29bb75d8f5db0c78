// SPDX-License-Identifier: Apache-2.0
#include "system/browser.h"

#include <fcntl.h>
#include <spawn.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>

extern char** environ;

namespace halfsplit::system {

bool has_screen() { return std::getenv("DISPLAY") != nullptr || std::getenv("WAYLAND_DISPLAY") != nullptr; }

bool open_in_browser(const std::string& address) {
  posix_spawn_file_actions_t files;
  posix_spawnattr_t how;
  if (::posix_spawn_file_actions_init(&files) != 0) return false;
  ::posix_spawnattr_init(&how);
  ::posix_spawn_file_actions_addopen(&files, 0, "/dev/null", O_RDONLY, 0);
  ::posix_spawn_file_actions_addopen(&files, 1, "/dev/null", O_WRONLY, 0);
  ::posix_spawn_file_actions_addopen(&files, 2, "/dev/null", O_WRONLY, 0);
  // A session of its own, so that Ctrl-C here does not end the browser, and no signal is blocked in it.
  sigset_t none;
  sigemptyset(&none);
  ::posix_spawnattr_setsigmask(&how, &none);
  ::posix_spawnattr_setflags(&how, POSIX_SPAWN_SETSID | POSIX_SPAWN_SETSIGMASK);
  std::string program = "xdg-open";
  std::string argument = address;
  char* words[] = {program.data(), argument.data(), nullptr};
  pid_t child = 0;
  const int failed = ::posix_spawnp(&child, program.c_str(), &files, &how, words, environ);
  ::posix_spawnattr_destroy(&how);
  ::posix_spawn_file_actions_destroy(&files);
  return failed == 0;
}

LeadingPage::LeadingPage(const std::string& address) {
  const char* folder = std::getenv("XDG_RUNTIME_DIR");
  std::string name = std::string(folder != nullptr && folder[0] == '/' ? folder : "/tmp") + "/halfsplit-XXXXXX.html";
  const int file = ::mkostemps(name.data(), 5, O_CLOEXEC);  // mode 0600
  if (file < 0) return;
  const std::string page =
      "<!doctype html><meta charset=\"utf-8\"><title>Halfsplit</title><meta http-equiv=\"refresh\" "
      "content=\"0; url=" +
      address + "\"><a href=\"" + address + "\">Go on</a>\n";
  const bool whole = ::write(file, page.data(), page.size()) == static_cast<ssize_t>(page.size());
  ::close(file);
  if (whole)
    path_ = name;
  else
    ::unlink(name.c_str());
}

LeadingPage::~LeadingPage() {
  if (!path_.empty()) ::unlink(path_.c_str());
}

}  // namespace halfsplit::system
