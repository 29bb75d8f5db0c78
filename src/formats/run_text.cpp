// SPDX-License-Identifier: Apache-2.0
// A name may hold '-' but none of > [ ], so the first "->" or "-[" after a hop begins a link. A broken link ends the
// reading: what follows could only be guessed.
#include "formats/run_text.h"

#include <algorithm>
#include <optional>

#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

constexpr const char* kForm = "a link is -> or -[RD 0.5mm2 2m]->";

class RunParser {
 public:
  explicit RunParser(std::string_view text) : text_(text) {}

  RunText parse() {
    for (;;) {
      const std::size_t link = find_link();
      if (!read_hop(std::min(link, text_.size()))) break;
      if (link == std::string_view::npos) {
        check_end();
        break;
      }
      at_ = link;
      if (!read_link()) break;
    }
    return std::move(run_);
  }

 private:
  void problem(std::string code, std::string message, std::string hint, std::size_t offset, std::size_t length) {
    run_.problems.push_back(
        {std::move(code), std::move(message), std::move(hint), offset, std::max<std::size_t>(1, length)});
  }

  std::size_t find_link() const {
    for (std::size_t i = at_; i + 1 < text_.size(); ++i)
      if (text_[i] == '-' && (text_[i + 1] == '>' || text_[i + 1] == '[')) return i;
    return std::string_view::npos;
  }

  void check_end() {
    if (run_.links.empty() && run_.problems.empty())
      problem("bad-run", "a run joins at least two points, and this names one", kForm, 0, text_.size());
  }

  bool read_hop(std::size_t end) {
    std::size_t begin = at_;
    while (begin < end && is_blank(text_[begin])) ++begin;
    std::size_t last = end;
    while (last > begin && is_blank(text_[last - 1])) --last;
    const std::string_view hop = text_.substr(begin, last - begin);
    if (hop.empty()) {
      problem("bad-run", run_.hops.empty() ? "the run does not begin with a point" : "a point is missing here", kForm,
              std::min(begin, text_.empty() ? 0 : text_.size() - 1), 1);
      return false;
    }
    const std::size_t sign = hop.find_first_of("<>[]");
    if (sign != std::string_view::npos) {
      problem("bad-run", std::string("'") + hop[sign] + "' cannot stand in a point", kForm, begin + sign, 1);
      return false;
    }
    if (const std::optional<std::size_t> arrow = find_other_arrow(hop)) {
      problem("bad-run", "this is no link", kForm, begin + *arrow, 1);
      return false;
    }
    run_.hops.push_back({std::string(hop), begin});
    return true;
  }

  // An arrow as word processors write it.
  static std::optional<std::size_t> find_other_arrow(std::string_view hop) {
    for (const std::string_view arrow : {"\u2192", "\u21D2", "\u27F6"}) {
      const std::size_t at = hop.find(arrow);
      if (at != std::string_view::npos) return at;
    }
    return std::nullopt;
  }

  bool read_link() {
    RunLink link;
    link.offset = at_;
    at_ += 2;
    if (text_[at_ - 1] == '[' && !read_attributes(link)) return false;
    link.length = at_ - link.offset;
    run_.links.push_back(std::move(link));
    return true;
  }

  bool read_attributes(RunLink& link) {
    for (;;) {
      while (at_ < text_.size() && is_blank(text_[at_])) ++at_;
      if (at_ >= text_.size()) {
        problem("bad-run", "this bracket is never closed", "close it with ]->", link.offset, 2);
        return false;
      }
      if (text_[at_] == ']') return close_link(link);
      if (!read_attribute(link)) return false;
    }
  }

  bool close_link(const RunLink& link) {
    if (text_.substr(at_, 3) == "]->") {
      at_ += 3;
      return true;
    }
    problem("bad-run", "behind ] comes ->", "a link is -[...]->, without blanks before the arrow", link.offset,
            at_ + 1 - link.offset);
    return false;
  }

  bool read_attribute(RunLink& link) {
    RunAttribute attribute;
    attribute.offset = at_;
    std::size_t end = at_;
    while (end < text_.size() && !is_blank(text_[end]) &&
           std::string_view("]='").find(text_[end]) == std::string_view::npos)
      ++end;
    attribute.value_at = at_;
    attribute.value = text_.substr(at_, end - at_);
    at_ = end;
    if (at_ < text_.size() && text_[at_] == '=') {
      attribute.key = std::move(attribute.value);
      ++at_;
      if (attribute.key.empty()) {
        problem("bad-attribute", "a key is missing before =", "write it like bundle=rear", attribute.offset, 1);
        return false;
      }
      if (!read_value(attribute)) return false;
    } else if (at_ < text_.size() && text_[at_] == '\'') {
      problem("bad-attribute", "a quoted name stands behind a key", "write bundle='left side'", attribute.offset, 1);
      return false;
    }
    attribute.length = at_ - attribute.offset;
    if (attribute.value.empty())
      problem("bad-attribute", "a value is missing behind " + text::shorten(attribute.key, 40) + "=",
              "write it like bundle=rear", attribute.offset, attribute.length);
    else
      link.attributes.push_back(std::move(attribute));
    return true;
  }

  bool read_value(RunAttribute& attribute) {
    const bool quoted = at_ < text_.size() && text_[at_] == '\'';
    attribute.value_at = quoted ? at_ + 1 : at_;
    std::size_t end = attribute.value_at;
    while (end < text_.size() && (quoted ? text_[end] != '\'' : !is_blank(text_[end]) && text_[end] != ']')) ++end;
    attribute.value = text_.substr(attribute.value_at, end - attribute.value_at);
    if (quoted && end >= text_.size()) {
      problem("bad-attribute", "the closing ' is missing", "write bundle='left side'", at_, 1);
      return false;
    }
    at_ = quoted ? end + 1 : end;
    return true;
  }

  std::string_view text_;
  std::size_t at_ = 0;
  RunText run_;
};

}  // namespace

RunText parse_run(std::string_view text) { return RunParser(text).parse(); }

}  // namespace halfsplit::formats
