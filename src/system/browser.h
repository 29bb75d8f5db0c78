// SPDX-License-Identifier: Apache-2.0
// Opens an address or a file in the browser the user likes best, by xdg-open (freedesktop.org), without waiting for it.
#pragma once

#include <string>

namespace halfsplit::system {

// There is a screen to open a browser on.
[[nodiscard]] bool has_screen();
// False: xdg-open is not there. That the browser opened is not known.
[[nodiscard]] bool open_in_browser(const std::string& address);

// A page of the user's alone (mode 0600, in XDG_RUNTIME_DIR or /tmp) that leads on to `address`: what
// stands in an address is then not in the list of processes for others to read. Removed with this object.
class LeadingPage {
 public:
  explicit LeadingPage(const std::string& address);
  ~LeadingPage();
  LeadingPage(const LeadingPage&) = delete;
  LeadingPage& operator=(const LeadingPage&) = delete;
  [[nodiscard]] const std::string& path() const { return path_; }  // empty: could not be made

 private:
  std::string path_;
};

}  // namespace halfsplit::system
