// SPDX-License-Identifier: Apache-2.0
#include "app/code_list.h"

#include <algorithm>

#include "circuit/code_names.h"
#include "evidence/observable_text.h"
#include "text/blanks.h"

namespace halfsplit::app {

namespace {

constexpr std::string_view kList = "list ";

std::string trimmed(std::string_view text) { return std::string(text::without_blanks(text)); }

circuit::CodeId find_code(const circuit::Loom& loom, circuit::ModuleId module, const std::string& name) {
  const std::vector<circuit::CodeId> codes = circuit::find_codes(loom, module, name);
  return codes.empty() ? circuit::CodeId() : codes.front();
}

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; }

bool begins_with(const std::string& text, const std::string& name) {  // capitals do not matter
  return text.size() >= name.size() &&
         std::equal(name.begin(), name.end(), text.begin(), [](char a, char b) { return lower(a) == lower(b); });
}

// The longest module name the text begins with, else its first word.
void take_module(const circuit::Loom& loom, const std::string& text, CodeList& list, std::string& rest) {
  for (std::size_t m = 0; m < loom.modules.size(); ++m) {
    const std::string& name = loom.modules[m].name;
    const bool fits = begins_with(text, name) && (text.size() == name.size() || text[name.size()] == ' ');
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
  listed.name = listed.code.is_none() ? circuit::usual_code_name(listed.name) : loom.codes[listed.code.index()].name;
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

std::vector<std::string> maybe_of_module(const circuit::Loom& loom, const CodeList& list) {
  std::vector<std::string> names;
  for (const ListedCode& listed : list.codes) {
    bool maybe = false;
    for (std::size_t i = 0; listed.code.is_none() && i < loom.codes.size(); ++i)
      maybe =
          maybe || (loom.codes[i].module == list.id && circuit::may_be_code(loom, circuit::CodeId(i), listed.name) &&
                    std::none_of(list.codes.begin(), list.codes.end(),
                                 [&](const ListedCode& other) { return other.code == circuit::CodeId(i); }));
    if (maybe) names.push_back(listed.name);
  }
  return names;
}

std::vector<evidence::Observation> readings_of(const circuit::Loom& loom, const CodeList& list) {
  std::vector<evidence::Observation> readings;
  if (list.id.is_none()) return readings;
  evidence::Observation answers;
  answers.what.kind = evidence::Kind::kAnswers;
  answers.what.module = list.id;
  answers.seen.category = 0;
  if (!loom.modules.at(list.id.index()).shows_codes) readings.push_back(answers);  // else the display may have told
  const bool absent_counts = maybe_of_module(loom, list).empty();
  for (std::size_t i = 0; i < loom.codes.size(); ++i) {
    if (loom.codes[i].module != list.id) continue;
    const auto listed = std::find_if(list.codes.begin(), list.codes.end(),
                                     [&](const ListedCode& code) { return code.code == circuit::CodeId(i); });
    if (listed == list.codes.end() && !absent_counts) continue;
    evidence::Observation reading;
    reading.what = code_observable();
    reading.what.code = circuit::CodeId(i);
    reading.seen.category = listed == list.codes.end() ? 2 : listed->category;
    readings.push_back(reading);
  }
  return readings;
}

bool is_unknown_code(const circuit::Loom& loom, std::string_view what) {
  constexpr std::string_view kCode = "code ";
  if (!what.starts_with(kCode)) return false;
  const std::string name = trimmed(what.substr(kCode.size()));
  const bool exact =
      std::any_of(loom.codes.begin(), loom.codes.end(), [&](const circuit::Code& code) { return code.name == name; });
  return !name.empty() && !exact && circuit::find_codes(loom, name).size() != 1;
}

base::Result<CodeList> other_code(std::string_view what, std::string_view shows) {
  const base::Result<evidence::Seen> seen = evidence::parse_seen(code_observable(), shows);
  if (!seen) return seen.diagnostics();
  CodeList list;
  list.codes.push_back({trimmed(what.substr(what.find(' '))), {}, seen->category});
  return list;
}

base::Result<std::string> code_meant(const circuit::Loom& loom, const std::string& name) {
  std::vector<circuit::CodeId> meant = circuit::find_codes(loom, name);
  for (const circuit::CodeId code : meant)
    if (loom.codes[code.index()].name == name) meant = {code};
  if (meant.empty()) return circuit::usual_code_name(name);
  if (meant.size() == 1) return loom.codes[meant.front().index()].name;
  const std::string& owner = loom.modules.at(loom.codes[meant.front().index()].module.index()).name;
  return base::make_error("saw.which-code", "\"" + name + "\" can be set by " + circuit::who_sets(loom, meant),
                          "say which module shows it: halfsplit saw \"code " + owner + " " + name + "\" active");
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
