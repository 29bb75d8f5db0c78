// SPDX-License-Identifier: Apache-2.0
// Any bytes as a request (lines "METHOD TARGET", "name: value", an empty line, a body): never a crash; what is let
// through to change something or to be read came with our Host, our Origin and a cookie that is in force.
#include <cstdint>
#include <string>
#include <string_view>

#include "base/check.h"
#include "http/gate.h"
#include "http/gate_fixture.h"
#include "http/guarded_files.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

using namespace halfsplit::http;

std::string_view take_line(std::string_view& text) {
  const std::size_t cut = text.find('\n');
  const std::string_view line = text.substr(0, cut);
  text = cut == std::string_view::npos ? std::string_view{} : text.substr(cut + 1);
  return line;
}

// COOKIE stands for the cookie in force, so that inputs reach what lies behind it.
RequestHead read_head(std::string_view& text, const GateFixture& fixture) {
  RequestHead head;
  const std::string_view first = take_line(text);
  const std::size_t blank = first.find(' ');
  head.method = first.substr(0, blank);
  head.target = blank == std::string_view::npos ? "" : first.substr(blank + 1);
  head.peer = "127.0.0.1";
  head.peer_is_here = true;
  while (!text.empty()) {
    const std::string_view line = take_line(text);
    const std::size_t colon = line.find(':');
    if (colon == std::string_view::npos) break;
    std::string value(line.substr(colon + 1));
    if (value.find("COOKIE") != std::string::npos) value = GateFixture::cookie(fixture.here());
    head.headers.emplace_back(line.substr(0, colon), value);
  }
  return head;
}

}  // namespace

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string_view text(reinterpret_cast<const char*>(data), size);
  GateFixture fixture;
  const RequestHead head = read_head(text, fixture);
  const Decision decision = fixture.gate.decide(head, GateFixture::kNow + 1);
  (void)read_form(text);
  if (is_page_path(text)) HS_CHECK(text.find('/') == std::string_view::npos, "a page's path has no folders");
  if (decision.route == Route::kRefused) {
    HS_CHECK(decision.status >= 400 && !decision.code.empty(), "a refusal says why");
    return 0;
  }
  const HeaderValue host = find_header(head, "host");
  HS_CHECK(host.value == GateFixture::kHost || host.value == "localhost:8471", "Host is ours");
  if (head.method != "GET" && head.method != "HEAD")
    HS_CHECK(find_header(head, "origin").value == "http://" + *host.value, "Origin is ours");
  const bool open = decision.route == Route::kAsset || decision.route == Route::kStart ||
                    decision.route == Route::kPairForm || decision.route == Route::kPair;
  HS_CHECK(open || decision.session != 0, "nothing else without a session");
  HS_CHECK(decision.name.find('/') == std::string::npos || decision.route == Route::kAsset, "names have no folders");
  return 0;
}
