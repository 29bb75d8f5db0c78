// SPDX-License-Identifier: Apache-2.0
// One line for each thing worth knowing, on standard error: refusals, phones that come and go. Never a secret, a cookie
// or a query. A flood becomes one line that counts it. Safe for several threads.
#pragma once

#include <cstdint>
#include <mutex>
#include <string>
#include <string_view>

namespace halfsplit::http {

class Log {
 public:
  explicit Log(bool quiet = false) : quiet_(quiet) {}
  void line(const std::string& text);
  // Method, path without its query, peer and why.
  void refused(std::string_view method, std::string_view target, const std::string& peer, const std::string& code);

 private:
  void print(const std::string& text);
  std::mutex mutex_;
  bool quiet_;
  std::int64_t second_ = 0;
  int lines_ = 0;
  int left_out_ = 0;
};

// Printable ASCII only, and not longer than `most`.
[[nodiscard]] std::string printable(std::string_view text, std::size_t most);

}  // namespace halfsplit::http
