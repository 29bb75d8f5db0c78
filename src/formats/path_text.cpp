// SPDX-License-Identifier: Apache-2.0
#include "formats/path_text.h"

#include <algorithm>

#include "base/nearest.h"
#include "text/blanks.h"

namespace halfsplit::formats {

namespace {

struct KindWord {
  std::string_view word;
  HopKind kind;
  std::string_view part_kind = {};
};

// What may stand in brackets; the first of a kind is its own word. The last group are roles of a module's pin.
constexpr KindWord kWords[] = {
    {"plug", HopKind::kPlug},
    {"splice", HopKind::kSplice},
    {"stud", HopKind::kStud},
    {"frame", HopKind::kFrame},
    {"fuse", HopKind::kPart, "fuse"},
    {"switch", HopKind::kPart, "switch"},
    {"relay", HopKind::kPart, "relay"},
    {"diode", HopKind::kPart, "diode"},
    {"lamp", HopKind::kPart, "lamp"},
    {"led", HopKind::kPart, "led"},
    {"motor", HopKind::kPart, "motor"},
    {"solenoid", HopKind::kPart, "solenoid"},
    {"valve", HopKind::kPart, "solenoid"},
    {"horn", HopKind::kPart, "solenoid"},
    {"heater", HopKind::kPart, "heater"},
    {"resistor", HopKind::kPart, "resistor"},
    {"sensor", HopKind::kPart, "sender"},
    {"battery", HopKind::kPart, "battery"},
    {"module", HopKind::kModule},
    {"input", HopKind::kModule},
    {"output", HopKind::kModule},
    {"supply", HopKind::kModule},
    {"ground", HopKind::kModule},
    {"return", HopKind::kModule},
};

struct LetterKind {
  std::string_view letters;
  HopKind kind;
  std::string_view part_kind = {};
};

// Letters before the number in a name, as drawings have them (common practice after IEC 81346-2 and its forerunners).
constexpr LetterKind kLetters[] = {
    {"SP", HopKind::kSplice},
    {"SPL", HopKind::kSplice},
    {"G", HopKind::kStud},
    {"GND", HopKind::kStud},
    {"J", HopKind::kPlug},
    {"X", HopKind::kPlug},
    {"XS", HopKind::kPlug},
    {"XP", HopKind::kPlug},
    {"F", HopKind::kPart, "fuse"},
    {"S", HopKind::kPart, "switch"},
    {"K", HopKind::kPart, "relay"},
    {"E", HopKind::kPart, "lamp"},
    {"H", HopKind::kPart, "lamp"},
    {"L", HopKind::kPart, "lamp"},
    {"LA", HopKind::kPart, "lamp"},
    {"M", HopKind::kPart, "motor"},
    {"P", HopKind::kPart, "motor"},
    {"Y", HopKind::kPart, "solenoid"},
    {"B", HopKind::kPart, "sender"},
    {"R", HopKind::kPart, "resistor"},
    {"V", HopKind::kPart, "diode"},
    {"D", HopKind::kPart, "diode"},
    {"BAT", HopKind::kPart, "battery"},
    {"A", HopKind::kModule},
    {"U", HopKind::kModule},
};

// Whole names, in small letters.
constexpr KindWord kNames[] = {
    {"chassis", HopKind::kFrame},
    {"frame", HopKind::kFrame},
    {"ground", HopKind::kFrame},
    {"earth", HopKind::kFrame},
    {"gnd", HopKind::kFrame},
    {"31", HopKind::kFrame},
    {"masse", HopKind::kFrame},
    {"bat", HopKind::kPart, "battery"},
    {"battery", HopKind::kPart, "battery"},
    {"batterie", HopKind::kPart, "battery"},
    {"30", HopKind::kPart, "battery"},
};

// Words within names.
constexpr KindWord kInNames[] = {
    {"fuse", HopKind::kPart, "fuse"},
    {"relay", HopKind::kPart, "relay"},
    {"switch", HopKind::kPart, "switch"},
    {"lamp", HopKind::kPart, "lamp"},
    {"light", HopKind::kPart, "lamp"},
    {"pump", HopKind::kPart, "motor"},
    {"motor", HopKind::kPart, "motor"},
    {"fan", HopKind::kPart, "motor"},
    {"valve", HopKind::kPart, "solenoid"},
    {"horn", HopKind::kPart, "solenoid"},
    {"heater", HopKind::kPart, "heater"},
    {"sensor", HopKind::kPart, "sender"},
    {"sender", HopKind::kPart, "sender"},
    {"splice", HopKind::kSplice},
    {"stud", HopKind::kStud},
    {"connector", HopKind::kPlug},
    {"plug", HopKind::kPlug},
    {"socket", HopKind::kPlug},
};

std::string small_letters(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return out;
}

bool is_letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }
bool is_figure(char c) { return c >= '0' && c <= '9'; }

bool set_kind(PathHop& hop, HopKind kind, std::string_view part_kind) {
  hop.kind = kind;
  hop.part_kind = std::string(part_kind);
  return true;
}

bool is_terminal(std::string_view part_kind, std::string_view text) {
  const std::size_t slash = text.find('/');
  if (slash != std::string_view::npos)
    return is_terminal(part_kind, text.substr(0, slash)) && is_terminal(part_kind, text.substr(slash + 1));
  if (part_kind == "battery") return text == "+" || text == "-";
  if (part_kind == "diode") return text == "A" || text == "K";
  if (part_kind == "relay") return text == "30" || text == "87" || text == "85" || text == "86" || text == "87a";
  return text == "1" || text == "2";
}

bool guess_by_name(PathHop& hop) {
  const std::string name = small_letters(hop.name);
  for (const KindWord& one : kNames)
    if (name == one.word) return set_kind(hop, one.kind, one.part_kind);
  const auto end = std::find_if_not(hop.name.begin(), hop.name.end(), is_letter);
  const std::string letters(hop.name.begin(), end);
  const bool numbered = end != hop.name.end() && (is_figure(*end) || *end == '-');
  if (numbered || letters == "BAT")
    for (const LetterKind& one : kLetters)
      if (letters == one.letters) return set_kind(hop, one.kind, one.part_kind);
  for (const KindWord& one : kInNames)
    if (name.find(one.word) != std::string::npos) return set_kind(hop, one.kind, one.part_kind);
  return false;
}

// By what is said of it, by its name, else by where it stands: with a cavity on the way a plug, at an end a module.
void guess_kind(PathHop& hop, bool at_end) {
  if (hop.kind_told) return;
  const bool by_name = guess_by_name(hop);
  const bool fits = by_name && (hop.cavity.empty() || hop.kind == HopKind::kPlug || hop.kind == HopKind::kModule ||
                                (hop.kind == HopKind::kPart && is_terminal(hop.part_kind, hop.cavity)));
  if (fits && (at_end || hop.kind != HopKind::kModule)) return;
  const bool module = at_end || !hop.plug.empty();
  set_kind(hop, module ? HopKind::kModule : hop.cavity.empty() ? HopKind::kSplice : HopKind::kPlug, "");
}

std::string trimmed(std::string_view text) { return std::string(text::without_blanks(text)); }

class PathParser {
 public:
  explicit PathParser(std::string_view text) : text_(text) {}

  PathText run() {
    std::size_t from = 0, at = 0;
    while (at < text_.size()) {
      const std::size_t length = link_at(at);
      if (length == 0) {
        ++at;
        continue;
      }
      add_hop(from, at);
      add_link(at, length);
      at = from = at + length;
    }
    path_.ends_in_link = !path_.links.empty() && trimmed(text_.substr(from)).empty();
    if (!path_.ends_in_link && !trimmed(text_).empty()) add_hop(from, text_.size());
    for (std::size_t i = 0; i < path_.hops.size(); ++i) guess_kind(path_.hops[i], i == 0 || i + 1 == path_.hops.size());
    return std::move(path_);
  }

 private:
  // Bytes of the link that begins here; 0: none does.
  [[nodiscard]] std::size_t link_at(std::size_t at) {
    const std::string_view rest = text_.substr(at);
    if (rest.starts_with("->")) return 2;
    if (rest.starts_with(">") || rest.starts_with(",")) return 1;
    if (rest.starts_with(" - ")) return 3;
    if (!rest.starts_with("-[")) return 0;
    const std::size_t close = rest.find(']');
    if (close == std::string_view::npos) {
      problem(at, "a bracket of a wire is opened and not closed", "for example: F3 -[RD 1mm2 2m]-> J4:3");
      return rest.size();
    }
    std::size_t end = close + 1;
    if (end < rest.size() && rest[end] == '-') ++end;
    if (end < rest.size() && rest[end] == '>') ++end;
    return end;
  }

  void add_link(std::size_t at, std::size_t length) {
    const std::string_view link = text_.substr(at, length);
    const std::size_t close = link.find(']');
    path_.links.push_back(link.starts_with("-[") && close != std::string_view::npos ? trimmed(link.substr(2, close - 2))
                                                                                    : "");
  }

  void add_hop(std::size_t from, std::size_t to) {
    PathHop hop;
    hop.offset = from;
    std::string_view text = text::without_blanks(text_.substr(from, to - from));
    if (text.empty()) {
      problem(from, "there is no hop between two wires", "name what the wire comes to: F3, J4:12, chassis");
      path_.hops.push_back(std::move(hop));
      return;
    }
    hop.offset = static_cast<std::size_t>(text.data() - text_.data());
    if (text.back() == ')')
      if (const std::size_t open = text.rfind('('); open != std::string_view::npos) {
        read_brackets(hop, text.substr(open + 1, text.size() - open - 2));
        text = text::without_blanks(text.substr(0, open));
      }
    if (const std::size_t at = text.find('@'); at != std::string_view::npos) {
      hop.side = trimmed(text.substr(at + 1));
      text = text.substr(0, at);
    }
    if (const std::size_t colon = text.find(':'); colon != std::string_view::npos) {
      hop.cavity = trimmed(text.substr(colon + 1));
      text = text.substr(0, colon);
    }
    if (const std::size_t dot = text.rfind('.'); dot != std::string_view::npos && !hop.cavity.empty()) {
      hop.plug = trimmed(text.substr(dot + 1));
      text = text.substr(0, dot);
    }
    hop.name = trimmed(text);
    if (hop.name.empty()) problem(hop.offset, "a hop has no name", "for example: J4:12");
    path_.hops.push_back(std::move(hop));
  }

  void read_brackets(PathHop& hop, std::string_view inside) {
    const std::string all = trimmed(inside);
    const std::size_t blank = std::min(all.find(' '), all.size());
    hop.word = small_letters(all.substr(0, blank));
    hop.value = trimmed(std::string_view(all).substr(blank));
    for (const KindWord& one : kWords)
      if (hop.word == one.word) {
        hop.kind_told = set_kind(hop, one.kind, one.part_kind);
        return;
      }
    const std::vector<std::string> words = hop_words();
    const std::string near = base::did_you_mean(hop.word, words);
    std::string list;
    for (const std::string& word : words) list += (list.empty() ? "" : ", ") + word;
    problem(hop.offset, "\"" + hop.word + "\" is no kind of thing a path can come to",
            near.empty() ? "one of: " + list : near);
  }

  void problem(std::size_t offset, std::string message, std::string hint) {
    path_.problems.push_back({std::move(message), std::move(hint), offset});
  }

  std::string_view text_;
  PathText path_;
};

}  // namespace

PathText parse_path(std::string_view text) { return PathParser(text).run(); }

std::vector<std::string> split_paths(std::string_view text) {
  std::vector<std::string> paths;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t end = std::min(text.find_first_of(";\n", from), text.size());
    if (std::string one = trimmed(text.substr(from, end - from)); !one.empty()) paths.push_back(std::move(one));
    from = end + 1;
  }
  return paths;
}

std::string_view hop_word(const PathHop& hop) {
  for (const KindWord& one : kWords)
    if (hop.kind == one.kind && hop.part_kind == one.part_kind) return one.word;
  return "part";
}

std::vector<std::string> hop_words() {
  std::vector<std::string> words;
  for (const KindWord& one : kWords) words.emplace_back(one.word);
  return words;
}

PartEnds part_ends(std::string_view part_kind) {
  if (part_kind == "relay") return {"30", "87"};
  if (part_kind == "diode") return {"A", "K"};
  if (part_kind == "battery") return {"-", "+"};
  return {"1", "2"};
}

bool is_load(std::string_view part_kind) {
  return part_kind == "lamp" || part_kind == "led" || part_kind == "motor" || part_kind == "solenoid" ||
         part_kind == "heater" || part_kind == "resistor";
}

}  // namespace halfsplit::formats
