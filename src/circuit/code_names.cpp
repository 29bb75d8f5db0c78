// SPDX-License-Identifier: Apache-2.0
#include "circuit/code_names.h"

#include <algorithm>
#include <charconv>

namespace halfsplit::circuit {

namespace {

char upper(char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return upper(c) >= 'A' && upper(c) <= 'Z'; }
bool is_between(char c) { return std::string_view(" \t/.,:;-=_#()").find(c) != std::string_view::npos; }

// Capitals, blanks one at a time, none at the ends.
std::string plain(std::string_view name) {
  std::string words;
  for (const char c : name) {
    if ((c == ' ' || c == '\t') && (words.empty() || words.back() == ' ')) continue;
    words += c == '\t' ? ' ' : upper(c);
  }
  while (!words.empty() && words.back() == ' ') words.pop_back();
  return words;
}

struct Piece {
  std::string word;  // letters, or else
  std::uint32_t number = 0;
};

// Words and numbers with signs between; none: something else is in it, or a number too long for any of this.
std::optional<std::vector<Piece>> pieces_of(std::string_view name) {
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < name.size();) {
    if (is_between(name[i])) {
      ++i;
      continue;
    }
    const std::size_t from = i;
    Piece piece;
    if (is_digit(name[i])) {
      while (i < name.size() && is_digit(name[i])) ++i;
      if (std::from_chars(name.data() + from, name.data() + i, piece.number).ec != std::errc()) return std::nullopt;
    } else if (is_letter(name[i])) {
      for (; i < name.size() && is_letter(name[i]); ++i) piece.word += upper(name[i]);
    } else {
      return std::nullopt;
    }
    pieces.push_back(std::move(piece));
  }
  return pieces;
}

// "U0155-87", "u0155 87", "U015587" alike; empty: not a code of that kind (ISO 15031-6, SAE J2012, from memory).
std::string letter_code(std::string_view name) {
  std::string bare;
  for (const char c : name)
    if (c != ' ' && c != '-' && c != '_' && c != ':' && c != '/') bare += upper(c);
  const bool fits =
      (bare.size() == 5 || bare.size() == 7) && std::string_view("PCBU").find(bare[0]) < 4 &&
      std::all_of(bare.begin() + 1, bare.end(), [](char c) { return is_digit(c) || (c >= 'A' && c <= 'F'); });
  return fits ? bare : "";
}

// One name for all ways to write it.
std::string key_of(std::string_view name) {
  if (std::string letter = letter_code(name); !letter.empty()) return letter;
  return plain(usual_code_name(name));
}

bool is_part(char c) { return c == ' ' || c == ':' || c == ',' || c == '/'; }

// Without the module's name before it ("VCU 639/9", "VCU: 639/9") or behind ("639/9 VCU", "639/9 in VCU").
std::string without_module(std::string_view name, std::string_view module) {
  std::string words = plain(name);
  const std::string owner = plain(module);
  if (words.size() > owner.size() && words.starts_with(owner) && is_part(words[owner.size()])) {
    words.erase(0, owner.size());
    words.erase(0, std::min(words.find_first_not_of(" :,/"), words.size()));
  } else if (words.size() > owner.size() && words.ends_with(owner) && words[words.size() - owner.size() - 1] == ' ') {
    words.erase(words.size() - owner.size() - 1);
    for (const std::string_view link : {" IN", " OF"})
      if (words.ends_with(link)) words.erase(words.size() - link.size());
  }
  return words;
}

}  // namespace

namespace {

std::optional<SpnFmi> read_numbers(std::string_view name) {
  const std::optional<std::vector<Piece>> pieces = pieces_of(name);
  if (!pieces) return std::nullopt;
  std::string shape;  // S for SPN, F for FMI, 1 for a number
  std::vector<std::uint32_t> numbers;
  for (const Piece& piece : *pieces) {
    if (!piece.word.empty() && piece.word != "SPN" && piece.word != "FMI") return std::nullopt;
    shape += piece.word.empty() ? '1' : piece.word.front();
    if (piece.word.empty()) numbers.push_back(piece.number);
  }
  if (shape == "F1S1")
    std::swap(numbers[0], numbers[1]);
  else if (shape != "11" && shape != "S11" && shape != "1F1" && shape != "S1F1" && shape != "SF11")
    return std::nullopt;
  return SpnFmi{numbers[0], numbers[1]};
}

bool can_be(const SpnFmi& code) { return code.spn <= kMostSpn && code.fmi <= kMostFmi; }

}  // namespace

std::optional<SpnFmi> read_spn_fmi(std::string_view name) {
  const std::optional<SpnFmi> code = read_numbers(name);
  return code && can_be(*code) ? code : std::nullopt;
}

bool is_beyond_spn_fmi(std::string_view name) {
  const std::optional<SpnFmi> code = read_numbers(name);
  return code && !can_be(*code);
}

std::optional<SpnFmi> spn_fmi_of(const Loom& loom, const Code& code) {
  return read_spn_fmi(without_module(code.name, loom.modules.at(code.module.index()).name));
}

std::string usual_code_name(std::string_view name) {
  const std::optional<SpnFmi> code = read_spn_fmi(name);
  return code ? "SPN " + std::to_string(code->spn) + " FMI " + std::to_string(code->fmi) : std::string(name);
}

std::vector<CodeId> find_codes(const Loom& loom, ModuleId module, std::string_view name) {
  std::vector<CodeId> codes;
  if (module.is_none()) return codes;
  const std::string& owner = loom.modules.at(module.index()).name;
  const std::string wanted = key_of(without_module(name, owner));
  for (std::size_t i = 0; i < loom.codes.size(); ++i) {
    if (loom.codes[i].module != module) continue;
    if (loom.codes[i].name == name) return {CodeId(i)};
    if (key_of(without_module(loom.codes[i].name, owner)) == wanted) codes.emplace_back(i);
  }
  return codes;
}

std::vector<CodeId> find_codes(const Loom& loom, std::string_view name) {
  std::vector<CodeId> codes;
  for (std::size_t m = 0; m < loom.modules.size(); ++m)
    for (const CodeId code : find_codes(loom, ModuleId(m), name)) codes.push_back(code);
  return codes;
}

std::string who_sets(const Loom& loom, const std::vector<CodeId>& codes) {
  std::string text;
  for (const CodeId id : codes) {
    const Code& code = loom.codes.at(id.index());
    text += (text.empty() ? "" : ", ") + loom.modules.at(code.module.index()).name + " (" + code.name + ")";
  }
  return text;
}

bool may_be_code(const Loom& loom, CodeId id, std::string_view name) {
  const Code& code = loom.codes.at(id.index());
  const std::string& owner = loom.modules.at(code.module.index()).name;
  const std::optional<SpnFmi> known = spn_fmi_of(loom, code);
  const std::string words = without_module(name, owner);
  if (const std::optional<SpnFmi> told = read_spn_fmi(words))
    return known && (known->spn == told->spn || known->fmi == told->fmi);
  const std::string letter = letter_code(without_module(code.name, owner)), told = letter_code(words);
  if (!letter.empty() && !told.empty()) return letter.substr(0, 5) == told.substr(0, 5);
  for (std::size_t i = 0; known && i < words.size();) {  // no name we can read: a number in it may be the SPN
    const std::size_t from = words.find_first_of("0123456789", i);
    if (from == std::string::npos) break;
    i = std::min(words.find_first_not_of("0123456789", from), words.size());
    std::uint32_t number = 0;
    if (std::from_chars(words.data() + from, words.data() + i, number).ec == std::errc() && number == known->spn)
      return true;
  }
  return false;
}

}  // namespace halfsplit::circuit
