// SPDX-License-Identifier: Apache-2.0
// The idea: walk the text once, minding quotes, comments and brackets. A line break outside all of them ends a
// statement. Inside an unclosed bracket, a line that can only be the next statement (`[parts.x]`, or `key =` while the
// innermost bracket is a list) ends it too, and the bracket is remembered as never closed; the same for a """text"""
// that reaches the end of the file. Grammar: TOML 1.0.0; a list may span lines, an inline table and a "text" may not.
#include "formats/toml_statements.h"

#include <algorithm>
#include <string>
#include <utility>

namespace halfsplit::formats {

namespace {

constexpr std::size_t kMostReopened = 16;  // never-closed """texts""" looked behind; each costs a walk to the end

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

bool is_bare_key(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
}

class Outliner {
 public:
  Outliner(std::string_view text, const std::vector<std::string_view>& tables) : text_(text), tables_(tables) {}

  TomlOutline run() {
    while (at_ < text_.size()) read_statement();
    return std::move(outline_);
  }

 private:
  struct Bracket {
    char kind;
    std::size_t offset;
  };

  void read_statement() {
    skip_blank_lines();
    if (at_ >= text_.size()) return;
    statement_ = TomlStatement{line_, line_, text_[at_] == '[', '\0', 0};
    before_equals_ = true;
    dots_ = 0;
    dotted_ = false;
    brackets_.clear();
    while (at_ < text_.size() && !at_end_of_statement()) step();
    if (statement_.open == '\0' && !brackets_.empty() && !statement_.header) mark_open(brackets_.back());
    finish();
  }

  void finish() {
    statement_.last_line = std::max(statement_.first_line, line_);
    ++outline_.values;
    if (dotted_) ++outline_.dotted_keys;
    outline_.statements.push_back(statement_);
    if (at_ < text_.size() && text_[at_] == '\n') next_line();
  }

  void mark_open(const Bracket& bracket) {
    statement_.open = bracket.kind;
    statement_.open_offset = bracket.offset;
  }

  // At a line break: does the statement end here?
  bool at_end_of_statement() {
    if (statement_.open != '\0') return true;
    if (text_[at_] != '\n') return false;
    if (statement_.header || brackets_.empty()) return true;
    const bool in_list = brackets_.back().kind == '[';
    return looks_like_header(at_ + 1) || (in_list && looks_like_key(at_ + 1));
  }

  void step() {
    const char c = text_[at_];
    if (c == '\n') return next_line();
    if (c == '#') return skip_comment();
    if (c == '"' || c == '\'') return skip_text(c);
    if (c == '=') before_equals_ = false;
    if (c == ',') ++outline_.values;
    if (c == '[' || c == '{') open_bracket(c);
    if ((c == ']' || c == '}') && !brackets_.empty()) brackets_.pop_back();
    if (c == '.') count_dot();
    if (!is_bare_key(c) && c != '.' && !is_blank(c)) dots_ = 0;
    ++at_;
  }

  void open_bracket(char c) {
    brackets_.push_back({c, at_});
    if (brackets_.size() <= outline_.deepest) return;
    outline_.deepest = brackets_.size();
    outline_.deepest_line = line_;
  }

  void count_dot() {
    if (before_equals_ && !statement_.header) dotted_ = true;
    if (++dots_ <= outline_.longest_dotted) return;
    outline_.longest_dotted = dots_;
    outline_.longest_dotted_line = line_;
  }

  void next_line() {
    ++at_;
    ++line_;
  }

  void skip_comment() {
    while (at_ < text_.size() && text_[at_] != '\n') ++at_;
  }

  void skip_blank_lines() {
    while (at_ < text_.size()) {
      if (text_[at_] == '\n')
        next_line();
      else if (text_[at_] == '#')
        skip_comment();
      else if (is_blank(text_[at_]))
        ++at_;
      else
        return;
    }
  }

  void skip_text(char quote) {
    const bool long_text = text_.substr(at_, 3) == std::string(3, quote);
    if (long_text) return skip_long_text(quote);
    ++at_;
    while (at_ < text_.size() && text_[at_] != '\n' && text_[at_] != quote)
      at_ += quote == '"' && text_[at_] == '\\' && at_ + 1 < text_.size() && text_[at_ + 1] != '\n' ? 2 : 1;
    if (at_ < text_.size() && text_[at_] == quote) ++at_;
  }

  void skip_long_text(char quote) {
    const std::size_t begin = at_;
    const std::size_t end = find_long_end(at_ + 3, quote);
    if (end == std::string_view::npos && reopened_++ < kMostReopened) {
      mark_open({'"', begin});
      at_ = begin;
      skip_to_next_statement();
      return;
    }
    const std::size_t stop = std::min(end, text_.size());
    line_ += static_cast<std::size_t>(std::count(text_.begin() + static_cast<std::ptrdiff_t>(begin),
                                                 text_.begin() + static_cast<std::ptrdiff_t>(stop), '\n'));
    if (end == std::string_view::npos) mark_open({'"', begin});
    at_ = stop;
  }

  // To the line break before the next line that looks like a statement.
  void skip_to_next_statement() {
    for (at_ = std::min(text_.find('\n', at_), text_.size()); at_ < text_.size();) {
      if (looks_like_header(at_ + 1) || looks_like_key(at_ + 1)) return;
      next_line();
      at_ = std::min(text_.find('\n', at_), text_.size());
    }
  }

  // Offset behind the closing quotes; up to two more quotes may belong to the text.
  std::size_t find_long_end(std::size_t at, char quote) const {
    const std::string closing(3, quote);
    while (at < text_.size()) {
      if (quote == '"' && text_[at] == '\\') {
        at += 2;
        continue;
      }
      if (text_.substr(at, 3) == closing) {
        at += 3;
        for (int extra = 0; extra < 2 && at < text_.size() && text_[at] == quote; ++extra) ++at;
        return at;
      }
      ++at;
    }
    return std::string_view::npos;
  }

  std::string_view line_at(std::size_t begin) const {
    return text_.substr(begin, std::min(text_.find('\n', begin), text_.size()) - begin);
  }

  // "[parts.F1]" with one of the known table names first.
  bool looks_like_header(std::size_t begin) const {
    std::string_view line = line_at(begin);
    while (!line.empty() && is_blank(line.front())) line.remove_prefix(1);
    if (line.empty() || line.front() != '[') return false;
    while (!line.empty() && (is_blank(line.front()) || line.front() == '[')) line.remove_prefix(1);
    std::size_t end = 0;
    while (end < line.size() && is_bare_key(line[end])) ++end;
    const bool closed = end < line.size() && (line[end] == '.' || line[end] == ']');
    return closed && std::find(tables_.begin(), tables_.end(), line.substr(0, end)) != tables_.end();
  }

  // "key =" or "\"a key\" =" at the beginning of a line.
  bool looks_like_key(std::size_t begin) const {
    std::string_view line = line_at(begin);
    std::size_t i = 0;
    while (i < line.size() && is_blank(line[i])) ++i;
    const std::size_t key = i;
    if (i < line.size() && (line[i] == '"' || line[i] == '\'')) {
      i = std::min(line.find(line[i], i + 1), line.size() - 1) + 1;
    } else {
      while (i < line.size() && (is_bare_key(line[i]) || line[i] == '.')) ++i;
    }
    if (i == key) return false;
    while (i < line.size() && is_blank(line[i])) ++i;
    return i < line.size() && line[i] == '=';
  }

  std::string_view text_;
  const std::vector<std::string_view>& tables_;
  std::size_t at_ = 0;
  std::size_t line_ = 1;
  std::size_t dots_ = 0;
  std::size_t reopened_ = 0;
  bool before_equals_ = true;
  bool dotted_ = false;
  std::vector<Bracket> brackets_;
  TomlStatement statement_;
  TomlOutline outline_;
};

}  // namespace

TomlOutline outline_toml(std::string_view text, const std::vector<std::string_view>& tables) {
  return Outliner(text, tables).run();
}

}  // namespace halfsplit::formats
