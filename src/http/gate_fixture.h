// SPDX-License-Identifier: Apache-2.0
// A gate as the tests and the fuzz target meet it: one address, secrets that count up, a browser that is let in.
#pragma once

#include <cstdio>
#include <string>

#include "http/gate.h"

namespace halfsplit::http {

class GateFixture {
 public:
  static constexpr const char* kHost = "127.0.0.1:8471";
  static constexpr const char* kOrigin = "http://127.0.0.1:8471";
  static constexpr std::int64_t kNow = 1'000'000;

  GateFixture() {
    here_ = gate.sessions().use_start(gate.sessions().make_start(), kNow).value_or("");
    phone_ = gate.sessions().pair(gate.sessions().make_pairing(kNow), "phone", "192.168.1.7", kNow).cookie;
  }

  // What the page itself sends.
  [[nodiscard]] RequestHead get(const std::string& target) const {
    return {"GET",
            target,
            {{"host", kHost}, {"cookie", cookie(here_)}, {"sec-fetch-site", "same-origin"}},
            "127.0.0.1",
            true};
  }
  [[nodiscard]] RequestHead post(const std::string& target, std::size_t length = 2) const {
    RequestHead head = get(target);
    head.method = "POST";
    head.headers.emplace_back("origin", kOrigin);
    head.headers.emplace_back("content-type", "application/json");
    head.headers.emplace_back("content-length", std::to_string(length));
    return head;
  }
  [[nodiscard]] static std::string cookie(const std::string& value) { return "halfsplit_8471=" + value; }
  [[nodiscard]] const std::string& here() const { return here_; }
  [[nodiscard]] const std::string& phone() const { return phone_; }

  static void set(RequestHead& head, const std::string& name, const std::string& value) {
    drop(head, name);
    head.headers.emplace_back(name, value);
  }
  static void drop(RequestHead& head, const std::string& name) {
    std::erase_if(head.headers, [&](const auto& one) { return one.first == name; });
  }

  Gate gate{{{kHost, "localhost:8471"}, "halfsplit_8471"}, [this] { return next_secret(); }};

 private:
  std::string next_secret() {
    std::string text(33, '\0');
    std::snprintf(text.data(), text.size(), "%032x", ++count_);
    text.resize(32);
    return text;
  }
  unsigned count_ = 0;
  std::string here_, phone_;
};

}  // namespace halfsplit::http
