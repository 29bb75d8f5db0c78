// SPDX-License-Identifier: Apache-2.0
#include "http/log.h"

#include <chrono>
#include <cstdio>

namespace halfsplit::http {

namespace {
constexpr int kLinesASecond = 20;
}

std::string printable(std::string_view text, std::size_t most) {
  std::string out;
  for (const char c : text.substr(0, most)) out += c >= 0x20 && c < 0x7F ? c : '?';
  if (text.size() > most) out += "...";
  return out;
}

void Log::print(const std::string& text) {
  if (!quiet_) std::fprintf(stderr, "halfsplit: %s\n", text.c_str());
}

void Log::line(const std::string& text) {
  const auto since = std::chrono::steady_clock::now().time_since_epoch();
  const std::int64_t second = std::chrono::duration_cast<std::chrono::seconds>(since).count();
  const std::lock_guard lock(mutex_);
  if (second != second_) {
    if (left_out_ > 0) print(std::to_string(left_out_) + " more lines like these");
    second_ = second;
    lines_ = left_out_ = 0;
  }
  if (++lines_ > kLinesASecond)
    ++left_out_;
  else
    print(text);
}

void Log::refused(std::string_view method, std::string_view target, const std::string& peer, const std::string& code) {
  line("refused " + printable(method, 16) + " " + printable(target.substr(0, target.find('?')), 100) + " from " + peer +
       ": " + code);
}

}  // namespace halfsplit::http
