// SPDX-License-Identifier: Apache-2.0
#include "http/answer.h"

#include "app/operation.h"

namespace halfsplit::http {

const HeaderList& guard_headers() {
  static const HeaderList headers{
      {"Content-Security-Policy",
       "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data: blob:; "
       "manifest-src 'self'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'"},
      {"X-Content-Type-Options", "nosniff"},
      {"X-Frame-Options", "DENY"},
      {"Referrer-Policy", "no-referrer"},
      {"Cross-Origin-Opener-Policy", "same-origin"},
      {"Cross-Origin-Resource-Policy", "same-origin"},
      {"Permissions-Policy", "geolocation=(), microphone=(), usb=(), serial=()"},
  };
  return headers;
}

Answer json_answer(std::string result_json) {
  return {200,
          "application/json",
          R"({"ok":true,"exit_code":0,"result":)" + std::move(result_json) + R"(,"diagnostics":[]})",
          {}};
}

Answer error_answer(int status, const std::string& code, const std::string& message, const std::string& hint) {
  app::Reply reply = app::fail(base::make_error(code, message, hint));
  reply.exit_code = 2;
  return {status, "application/json", app::to_json_text(reply), {}};
}

std::string escape_html(std::string_view text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

std::string quote_json(std::string_view text) {
  return app::Json(std::string(text)).dump(-1, ' ', false, app::Json::error_handler_t::replace);
}

Answer word_answer(int status, const std::string& title, const std::string& body_html) {
  const std::string name = escape_html(title);
  return {status,
          "text/html; charset=utf-8",
          "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>" + name +
              "</title>\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
              "<link rel=\"stylesheet\" href=\"/door.css\">\n</head>\n<body>\n<main>\n<h1>" +
              name + "</h1>\n" + body_html + "</main>\n</body>\n</html>\n",
          {}};
}

Answer word_style() {
  return {
      200,
      "text/css; charset=utf-8",
      ":root { color-scheme: light dark; font: 1.25rem/1.5 system-ui, sans-serif }\n"
      "body { margin: 0 }\nmain { max-width: 34rem; margin: auto; padding: 1.5rem }\n"
      "label { display: block; margin: 1rem 0 }\n"
      "input, button { font: inherit; min-height: 3rem; padding: 0.5rem 1rem; width: 100%; box-sizing: border-box }\n"
      "code { overflow-wrap: anywhere }\n",
      {}};
}

}  // namespace halfsplit::http
