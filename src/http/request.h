// SPDX-License-Identifier: Apache-2.0
// The head of one request as it came in, and the pieces of its target. Plain values; nothing here trusts a byte.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace halfsplit::http {

using Query = std::map<std::string, std::string>;

struct RequestHead {
  std::string method;
  std::string target;                                        // as sent: path, and after "?" the query
  std::vector<std::pair<std::string, std::string>> headers;  // names in small letters, in order, repeated ones too
  std::string peer;                                          // address without port
  bool peer_is_here = false;                                 // the peer is this machine itself
};

struct Target {
  std::string path;
  Query query;
};

// Path and query of a target in origin form (RFC 9112, section 3.2.1). None: a path that is not plain (percent signs,
// "..", "//", a backslash, controls, more than 1,024 bytes), or a query that cannot be decoded or names a key twice.
[[nodiscard]] std::optional<Target> read_target(std::string_view target);

// "a=1&b=x%20y" as names and values; "+" is a blank (WHATWG URL Standard, application/x-www-form-urlencoded). None: a
// broken escape, a zero byte, a key twice, more than 32 of them.
[[nodiscard]] std::optional<Query> read_form(std::string_view text);

// The value of a header that stands exactly once; none when it is missing; `twice` when it stands more often.
struct HeaderValue {
  std::optional<std::string> value;
  bool twice = false;
};
[[nodiscard]] HeaderValue find_header(const RequestHead& head, std::string_view name);

// The value of a cookie in all Cookie headers; none when missing or when it stands twice with different values.
[[nodiscard]] std::optional<std::string> find_cookie(const RequestHead& head, std::string_view name);

}  // namespace halfsplit::http
