// SPDX-License-Identifier: Apache-2.0
// What goes back: status, headers and body, as values. Every answer carries the headers that keep other pages out.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace halfsplit::http {

struct Answer {
  int status = 200;
  std::string type = "application/json";
  std::string body;
  std::string_view lasting;  // instead of body: bytes that outlive the answer
  std::vector<std::pair<std::string, std::string>> headers = {};
};

using HeaderList = std::vector<std::pair<std::string_view, std::string_view>>;

// For every answer: Content-Security-Policy, nosniff, no referrer, nobody's frame.
[[nodiscard]] const HeaderList& guard_headers();

// The frame of a JSON reply (docs/formats/replies.md) around a result that is JSON already.
[[nodiscard]] Answer json_answer(std::string result_json);
// The same frame with one error in it; exit_code is 2, as for wrong usage.
[[nodiscard]] Answer error_answer(int status, const std::string& code, const std::string& message,
                                  const std::string& hint);
// A small page in words, with the style of the door.
[[nodiscard]] Answer word_answer(int status, const std::string& title, const std::string& body_html);
[[nodiscard]] Answer word_style();  // its style sheet, /door.css
[[nodiscard]] std::string escape_html(std::string_view text);
[[nodiscard]] std::string quote_json(std::string_view text);  // with its quotes; bytes that are no UTF-8 are replaced

}  // namespace halfsplit::http
