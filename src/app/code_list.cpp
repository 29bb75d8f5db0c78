// SPDX-License-Identifier: Apache-2.0
#include "app/code_list.h"

#include <algorithm>

#include "evidence/observable_text.h"
#include "text/blanks.h"

namespace halfsplit::app {

namespace {

constexpr std::string_view kList = "list ";

std::string trimmed(std::string_view text) { return std::string(text::without_blanks(text)); }

bool is_digit(char c) { return c >= '0' && c <= '9'; }

// Capitals and blanks do not matter; 639/9, "639 FMI 9" and "SPN 639 FMI 9" are the same.
std::string plain_name(std::string_view name) {
  std::string words, bare;
  std::vector<std::string> numbers;
  for (std::size_t i = 0; i < name.size(); ++i) {
    const char c = name[i] >= 'a' && name[i] <= 'z' ? static_cast<char>(name[i] - 32) : name[i];
    if (c == ' ' && (words.empty() || words.back() == ' ')) continue;
    words += c;
    if (is_digit(c)) {
      if (i == 0 || !is_digit(name[i - 1])) numbers.emplace_back();
      numbers.back() += c;
    } else if (c != ' ' && c != '/' && c != '.') {
      bare += c;
    }
  }
  while (!words.empty() && words.back() == ' ') words.pop_back();
  if (numbers.size() == 2 && (bare.empty() || bare == "FMI" || bare == "SPNFMI"))
    return "SPN " + numbers[0] + " FMI " + numbers[1];
  return words;
}

// A code's name without its module's name before or behind it.
std::string without_module(const std::string& code, const std::string& module) {
  const std::string name = plain_name(code), owner = plain_name(module);
  if (name.starts_with(owner + " ")) return plain_name(name.substr(owner.size() + 1));
  if (name.ends_with(" " + owner)) return plain_name(name.substr(0, name.size() - owner.size() - 1));
  return name;
}

circuit::CodeId find_code(const circuit::Loom& loom, circuit::ModuleId module, const std::string& name) {
  if (module.is_none()) return {};
  const std::string& owner = loom.modules[module.index()].name;
  for (std::size_t i = 0; i < loom.codes.size(); ++i)
    if (loom.codes[i].module == module && loom.codes[i].name == name) return circuit::CodeId(i);
  for (std::size_t i = 0; i < loom.codes.size(); ++i)
    if (loom.codes[i].module == module && without_module(loom.codes[i].name, owner) == without_module(name, owner))
      return circuit::CodeId(i);
  return {};
}

// The longest module name the text begins with, else its first word.
void take_module(const circuit::Loom& loom, const std::string& text, CodeList& list, std::string& rest) {
  for (std::size_t m = 0; m < loom.modules.size(); ++m) {
    const std::string& name = loom.modules[m].name;
    const bool fits = text.starts_with(name) && (text.size() == name.size() || text[name.size()] == ' ');
    if (!fits || name.size() <= list.module.size()) continue;
    list.module = name;
    list.id = circuit::ModuleId(m);
  }
  if (list.id.is_none()) list.module = text.substr(0, text.find(' '));
  rest = trimmed(std::string_view(text).substr(list.module.size()));
}

evidence::Observable code_observable() {
  evidence::Observable what;
  what.kind = evidence::Kind::kCode;
  return what;
}

// "CODE past" -> CODE, past. Nothing but a word is a code of that name.
ListedCode read_code(const circuit::Loom& loom, const CodeList& list, const std::string& text) {
  ListedCode listed{text, {}, 0};
  const std::size_t blank = text.rfind(' ');
  if (blank != std::string::npos)
    if (const auto seen = evidence::parse_seen(code_observable(), text.substr(blank + 1)); seen) {
      listed.name = trimmed(std::string_view(text).substr(0, blank));
      listed.category = seen->category;
    }
  listed.code = find_code(loom, list.id, listed.name);
  if (!listed.code.is_none()) listed.name = loom.codes[listed.code.index()].name;
  return listed;
}

void read_codes(const circuit::Loom& loom, const std::string& text, CodeList& list) {
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t end = std::min(text.find_first_of(",;\n", from), text.size());
    const std::string one = trimmed(std::string_view(text).substr(from, end - from));
    from = end + 1;
    if (one.empty()) continue;
    ListedCode listed = read_code(loom, list, one);
    const auto same = std::find_if(list.codes.begin(), list.codes.end(), [&](const ListedCode& other) {
      return other.code == listed.code && (!listed.code.is_none() || other.name == listed.name);
    });
    if (same == list.codes.end())
      list.codes.push_back(std::move(listed));
    else
      same->category = std::min(same->category, listed.category);
  }
}

}  // namespace

bool is_code_list(std::string_view what) { return what == "list" || what.starts_with(kList); }

base::Result<CodeList> parse_code_list(const circuit::Loom& loom, std::string_view what, std::string_view shows) {
  const std::string text = trimmed(what.substr(std::min(what.size(), kList.size())));
  if (text.empty())
    return base::make_error("saw.list-what", "the list of which module?",
                            "for example: halfsplit saw list VCU SPN 639 FMI 9, SPN 625 FMI 9 past");
  CodeList list;
  std::string codes;
  take_module(loom, text, list, codes);
  if (codes.empty()) codes = trimmed(shows);
  if (codes.empty())
    return base::make_error("saw.list-module-only", "the list of " + list.module + " showed what?",
                            "name its codes with commas between, or say none: halfsplit saw list " + list.module +
                                " none; a module that gives no list: halfsplit saw module " + list.module + " no");
  if (codes != "none") read_codes(loom, codes, list);
  return list;
}

std::string list_what(const CodeList& list) { return std::string(kList) + list.module; }

std::string list_shows(const CodeList& list) {
  std::string text;
  for (const ListedCode& code : list.codes)
    text += (text.empty() ? "" : ", ") + code.name + " " +
            std::string(evidence::categories(evidence::Kind::kCode)[static_cast<std::size_t>(code.category)]);
  return text.empty() ? "none" : text;
}

std::vector<evidence::Observation> readings_of(const circuit::Loom& loom, const CodeList& list) {
  std::vector<evidence::Observation> readings;
  if (list.id.is_none()) return readings;
  evidence::Observation answers;
  answers.what.kind = evidence::Kind::kAnswers;
  answers.what.module = list.id;
  answers.seen.category = 0;
  if (!loom.modules.at(list.id.index()).shows_codes) readings.push_back(answers);  // else the display may have told
  for (std::size_t i = 0; i < loom.codes.size(); ++i) {
    if (loom.codes[i].module != list.id) continue;
    evidence::Observation reading;
    reading.what = code_observable();
    reading.what.code = circuit::CodeId(i);
    reading.seen.category = 2;
    for (const ListedCode& code : list.codes)
      if (code.code == reading.what.code) reading.seen.category = code.category;
    readings.push_back(reading);
  }
  return readings;
}

bool is_unknown_code(const circuit::Loom& loom, std::string_view what) {
  constexpr std::string_view kCode = "code ";
  if (!what.starts_with(kCode)) return false;
  const std::string name = trimmed(what.substr(kCode.size()));
  return !name.empty() && std::none_of(loom.codes.begin(), loom.codes.end(),
                                       [&](const circuit::Code& code) { return code.name == name; });
}

base::Result<CodeList> other_code(std::string_view what, std::string_view shows) {
  const base::Result<evidence::Seen> seen = evidence::parse_seen(code_observable(), shows);
  if (!seen) return seen.diagnostics();
  CodeList list;
  list.codes.push_back({trimmed(what.substr(what.find(' '))), {}, seen->category});
  return list;
}

std::string code_meant(const circuit::Loom& loom, const std::string& name) {
  const circuit::Code* meant = nullptr;
  for (const circuit::Code& code : loom.codes) {
    if (code.name == name) return name;
    const std::string& owner = loom.modules.at(code.module.index()).name;
    if (without_module(code.name, owner) != without_module(name, owner)) continue;
    if (meant != nullptr) return name;
    meant = &code;
  }
  return meant == nullptr ? name : meant->name;
}

std::vector<OtherCode> others_of(const CodeList& list, int entry) {
  std::vector<OtherCode> others;
  for (const ListedCode& code : list.codes)
    if (code.code.is_none() && code.category < 2)
      others.push_back(
          {entry, list.module, code.name,
           std::string(evidence::categories(evidence::Kind::kCode)[static_cast<std::size_t>(code.category)])});
  return others;
}

}  // namespace halfsplit::app
