// SPDX-License-Identifier: Apache-2.0
// Tests only: is a text well-formed XML, as far as our own writers go: elements, attributes in double quotes, character
// data, the five named entities and decimal references. No comments, no CDATA, no doctype but HTML's. Source: XML 1.0,
// productions 1, 2, 10, 14, 39 to 44, 66, 68.
#pragma once

#include <algorithm>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "text/utf8.h"

namespace halfsplit::report {

class XmlCheck {
 public:
  explicit XmlCheck(std::string_view text) : text_(text) {}

  // What is wrong and where; empty when nothing is.
  std::string run() {
    if (const auto bad = text::find_invalid_utf8(text_)) return "not UTF-8 at " + std::to_string(*bad);
    for (const char c : text_)
      if (static_cast<unsigned char>(c) < 0x20U && c != '\n' && c != '\t' && c != '\r') return "a control character";
    while (problem_.empty() && at_ < text_.size()) {
      if (text_[at_] == '<')
        read_tag();
      else
        read_text('<');
    }
    if (problem_.empty() && !open_.empty()) fail("<" + open_.back() + "> is never closed");
    if (problem_.empty() && roots_ != 1) fail("there is not one root element");
    return problem_;
  }

  [[nodiscard]] const std::vector<std::string>& texts() const { return texts_; }  // decoded, between tags

 private:
  void fail(const std::string& what) {
    if (problem_.empty()) problem_ = what + " at byte " + std::to_string(at_);
  }

  std::string read_text(char stop) {
    std::string out;
    while (at_ < text_.size() && text_[at_] != stop && problem_.empty()) {
      if (text_[at_] == '<') fail("a stray <");
      if (text_[at_] == '&')
        out += read_entity();
      else
        out += text_[at_++];
    }
    if (stop == '<' && open_.empty() && out.find_first_not_of(" \n") != std::string::npos)
      fail("text outside the root");
    if (stop == '<') texts_.push_back(out);
    return out;
  }

  std::string read_entity() {
    const std::size_t end = text_.find(';', at_);
    const std::string_view name = end == std::string_view::npos ? "" : text_.substr(at_ + 1, end - at_ - 1);
    static const std::vector<std::pair<std::string_view, std::string>> known = {
        {"amp", "&"}, {"lt", "<"}, {"gt", ">"}, {"quot", "\""}, {"#39", "'"}};
    for (const auto& [entity, character] : known)
      if (name == entity) {
        at_ = end + 1;
        return character;
      }
    fail("an unknown entity");
    return "";
  }

  static bool name_character(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == ':';
  }

  std::string read_name() {
    const std::size_t begin = at_;
    while (at_ < text_.size() && name_character(text_[at_])) ++at_;
    if (at_ == begin) fail("a name is missing");
    return std::string(text_.substr(begin, at_ - begin));
  }

  bool take(std::string_view what) {
    if (text_.substr(at_, what.size()) != what) return false;
    at_ += what.size();
    return true;
  }

  void read_tag() {
    if (take("<!DOCTYPE html>")) return;
    if (take("</")) {
      const std::string name = read_name();
      if (open_.empty() || open_.back() != name || !take(">")) return fail("</" + name + "> closes nothing");
      open_.pop_back();
      return;
    }
    take("<");
    const std::string name = read_name();
    if (open_.empty()) ++roots_;
    read_attributes();
    if (take("/>")) return;
    if (!take(">")) return fail("<" + name + " does not end");
    if (!is_void(name)) open_.push_back(name);
  }

  // HTML's elements without an end.
  static bool is_void(const std::string& name) { return name == "meta" || name == "br" || name == "hr"; }

  void read_attributes() {
    std::set<std::string> seen;
    while (problem_.empty() && take(" ")) {
      const std::string name = read_name();
      if (!seen.insert(name).second) return fail("attribute " + name + " stands twice");
      if (!take("=\"")) return fail("attribute " + name + " has no value");
      read_text('"');
      if (!take("\"")) return fail("attribute " + name + " is never closed");
    }
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t roots_ = 0;
  std::vector<std::string> open_, texts_;
  std::string problem_;
};

}  // namespace halfsplit::report
