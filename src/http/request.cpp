// SPDX-License-Identifier: Apache-2.0
#include "http/request.h"

namespace halfsplit::http {

namespace {

constexpr std::size_t kMostPath = 1024;
constexpr std::size_t kMostKeys = 32;

int hex_value(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

std::optional<std::string> decode(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    char c = text[i] == '+' ? ' ' : text[i];
    if (c == '%') {
      if (i + 2 >= text.size()) return std::nullopt;
      const int high = hex_value(text[i + 1]);
      const int low = hex_value(text[i + 2]);
      if (high < 0 || low < 0) return std::nullopt;
      c = static_cast<char>(high * 16 + low);
      i += 2;
    }
    if (c == '\0') return std::nullopt;
    out += c;
  }
  return out;
}

bool is_plain_path(std::string_view path) {
  if (path.empty() || path.size() > kMostPath || path.front() != '/') return false;
  if (path.find("//") != std::string_view::npos || path.find("..") != std::string_view::npos) return false;
  for (const char c : path) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '/' ||
                       c == '-' || c == '_' || c == '.';
    if (!plain) return false;
  }
  return true;
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

// Cuts `text` at the first `separator`: what stands before it, and `text` keeps the rest.
std::string_view take(std::string_view& text, char separator) {
  const std::size_t cut = text.find(separator);
  const std::string_view part = text.substr(0, cut);
  text = cut == std::string_view::npos ? std::string_view{} : text.substr(cut + 1);
  return part;
}

}  // namespace

std::optional<Query> read_form(std::string_view text) {
  Query query;
  while (!text.empty()) {
    std::string_view value = take(text, '&');
    if (value.empty()) continue;
    const std::string_view name = take(value, '=');
    const std::optional<std::string> key = decode(name);
    std::optional<std::string> said = decode(value);
    if (!key || !said || key->empty() || query.size() >= kMostKeys) return std::nullopt;
    if (!query.emplace(*key, *std::move(said)).second) return std::nullopt;
  }
  return query;
}

std::optional<Target> read_target(std::string_view target) {
  const std::size_t cut = target.find('?');
  const std::string_view path = target.substr(0, cut);
  if (!is_plain_path(path)) return std::nullopt;
  std::optional<Query> query = read_form(cut == std::string_view::npos ? std::string_view{} : target.substr(cut + 1));
  if (!query) return std::nullopt;
  return Target{std::string(path), *std::move(query)};
}

HeaderValue find_header(const RequestHead& head, std::string_view name) {
  HeaderValue found;
  for (const auto& [key, value] : head.headers) {
    if (key != name) continue;
    if (found.value) found.twice = true;
    found.value = std::string(trimmed(value));
  }
  return found;
}

std::optional<std::string> find_cookie(const RequestHead& head, std::string_view name) {
  std::optional<std::string> found;
  for (const auto& [key, value] : head.headers) {
    if (key != "cookie") continue;
    for (std::string_view rest = value; !rest.empty();) {
      std::string_view said = take(rest, ';');
      if (trimmed(take(said, '=')) != name) continue;
      if (found && *found != trimmed(said)) return std::nullopt;
      found = std::string(trimmed(said));
    }
  }
  return found;
}

}  // namespace halfsplit::http
