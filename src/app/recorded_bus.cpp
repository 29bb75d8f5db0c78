// SPDX-License-Identifier: Apache-2.0
#include "app/recorded_bus.h"

#include <algorithm>
#include <array>
#include <iterator>

#include "base/nearest.h"
#include "circuit/code_names.h"
#include "evidence/recorded_text.h"
#include "text/blanks.h"

namespace halfsplit::app {

namespace {

using circuit::ModuleId;
using evidence::Kind;

constexpr std::string_view kRecording = "recording";

std::string bare(std::string_view text) { return std::string(text::without_blanks(text)); }

// "(3 times: 120-131)" off the end of an item: begins with a number, so that a name may end in brackets.
std::string take_remark(std::string& item) {
  const std::size_t open = item.rfind('(');
  if (open == std::string::npos || item.back() != ')' || item[open + 1] < '0' || item[open + 1] > '9') return "";
  const std::string remark = item.substr(open + 1, item.size() - open - 2);
  item = bare(std::string_view(item).substr(0, open));
  return remark;
}

using End = QuietTogether::End;
struct EndWord {
  End end;
  std::string_view word;
};
constexpr std::array<EndWord, 3> kEndWords{
    {{End::kRestarts, "restarts"}, {End::kReturns, "returns"}, {End::kSteady, "steady"}}};

class ItemReader {
 public:
  ItemReader(const LoadedLoom& loom, RecordedBus& recorded) : loom_(loom.loom), recorded_(recorded) {}

  base::Result<base::Done> read(std::string item) {
    const std::size_t cut = item.find(' ');
    const std::string verb = item.substr(0, cut);
    std::string rest = cut == std::string::npos ? "" : bare(std::string_view(item).substr(cut));
    if (rest.empty()) return wrong(item);
    if (verb == "file") {
      recorded_.file = rest;
      return base::Done{};
    }
    const std::string remark = take_remark(rest);
    if (verb == "heard") return add(rest, recorded_.heard);
    if (verb == "never") return add(rest, recorded_.never);
    for (const EndWord& word : kEndWords)
      if (verb == word.word) return quiet(rest, word.end, remark);
    if (verb == "active" || verb == "past") return code(rest, verb == "past");
    if (verb == "hears" || verb == "deaf") return answered(rest, verb == "hears", remark);
    return wrong(item);
  }

 private:
  static base::Diagnostic wrong(const std::string& item) {
    return base::make_error(
        "saw.recording-item", "\"" + item + "\" is nothing that a recording tells",
        "heard A + B; never C; restarts A + B; returns A; steady B; hears A from B; deaf A to B; active "
        "CODE; past CODE; file NAME");
  }

  base::Result<base::Done> add(const std::string& text, std::vector<ModuleId>& to) {
    const auto modules = evidence::parse_modules(loom_, text);
    if (!modules) return modules.diagnostics();
    std::vector<ModuleId> all;
    std::set_union(to.begin(), to.end(), modules->begin(), modules->end(), std::back_inserter(all));
    to = std::move(all);
    return base::Done{};
  }

  base::Result<base::Done> quiet(const std::string& text, End end, const std::string& remark) {
    constexpr std::string_view kWhile = " while ";
    const std::size_t cut = text.find(kWhile);
    QuietTogether group;
    group.end = end;
    group.remark = remark;
    base::Result<base::Done> done = add(text.substr(0, cut), group.who);
    if (done && cut != std::string::npos) done = add(text.substr(cut + kWhile.size()), group.meanwhile);
    if (done) recorded_.quiet.push_back(std::move(group));
    return done;
  }

  base::Result<base::Done> code(const std::string& name, bool past) {
    std::vector<std::string> names;
    for (std::size_t c = 0; c < loom_.codes.size(); ++c) {
      names.push_back(loom_.codes[c].name);
      if (names.back() != name) continue;
      recorded_.codes.push_back({circuit::CodeId(c), past});
      return base::Done{};
    }
    if (const std::vector<circuit::CodeId> meant = circuit::find_codes(loom_, name); meant.size() == 1) {
      recorded_.codes.push_back({meant.front(), past});
      return base::Done{};
    }
    const std::string near = base::did_you_mean(name, names);
    return base::make_error("test.unknown-name", "there is no code named \"" + name + "\" in this loom",
                            near.empty() ? "a code of the loom by its whole name: VCU SPN 639 FMI 9" : near);
  }

  base::Result<base::Done> answered(const std::string& text, bool answers, const std::string& remark) {
    const std::string_view between = answers ? " from " : " to ";
    const std::size_t cut = text.find(between);
    if (cut == std::string::npos) return wrong((answers ? "hears " : "deaf ") + text);
    const auto listener = evidence::parse_modules(loom_, text.substr(0, cut));
    if (!listener) return listener.diagnostics();
    const auto speaker = evidence::parse_modules(loom_, text.substr(cut + between.size()));
    if (!speaker) return speaker.diagnostics();
    if (listener->size() != 1 || speaker->size() != 1 || *listener == *speaker)
      return wrong((answers ? "hears " : "deaf ") + text);
    recorded_.answered.push_back({listener->front(), speaker->front(), answers, remark});
    return base::Done{};
  }

  const circuit::Loom& loom_;
  RecordedBus& recorded_;
};

std::string with_remark(const std::string& text, const std::string& remark) {
  return remark.empty() ? text : text + " (" + remark + ")";
}

}  // namespace

bool is_recorded_bus(std::string_view what) {
  return what == kRecording || what.starts_with(std::string(kRecording) + " ");
}

base::Result<RecordedBus> parse_recorded_bus(const LoadedLoom& loom, std::string_view what, std::string_view shows) {
  RecordedBus recorded;
  std::string where(what.substr(std::min(what.size(), kRecording.size())));
  base::Result<base::Done> done = evidence::take_bus(loom.loom, loom.netlist, where, recorded.tap);
  if (!done) return done.diagnostics();
  ItemReader reader(loom, recorded);
  for (std::size_t from = 0; from <= shows.size();) {
    const std::size_t end = std::min(shows.find(';', from), shows.size());
    const std::string item = bare(shows.substr(from, end - from));
    from = end + 1;
    if (item.empty()) continue;
    done = reader.read(item);
    if (!done) return done.diagnostics();
  }
  return recorded;
}

std::string recorded_what(const LoadedLoom& loom, const RecordedBus& recorded) {
  return std::string(kRecording) + " " + evidence::format_tap(loom.loom, loom.netlist, recorded.tap);
}

std::string recorded_shows(const LoadedLoom& loom, const RecordedBus& recorded) {
  std::string text;
  const auto add = [&](const std::string& item) { text += (text.empty() ? "" : "; ") + item; };
  const auto names = [&](const std::vector<ModuleId>& ids) { return evidence::joined_modules(loom.loom, ids); };
  const auto name = [&](ModuleId id) { return loom.loom.modules[id.index()].name; };
  if (!recorded.heard.empty()) add("heard " + names(recorded.heard));
  if (!recorded.never.empty()) add("never " + names(recorded.never));
  for (const QuietTogether& group : recorded.quiet)
    add(with_remark(std::string(kEndWords[static_cast<std::size_t>(group.end)].word) + " " + names(group.who) +
                        (group.meanwhile.empty() ? "" : " while " + names(group.meanwhile)),
                    group.remark));
  for (const Answered& one : recorded.answered)
    add(with_remark(one.answers ? "hears " + name(one.listener) + " from " + name(one.speaker)
                                : "deaf " + name(one.listener) + " to " + name(one.speaker),
                    one.remark));
  for (const ToldCode& told : recorded.codes)
    add((told.past ? "past " : "active ") + loom.loom.codes[told.code.index()].name);
  if (!recorded.file.empty()) add("file " + recorded.file);
  return text;
}

std::vector<evidence::Observation> readings_of(const RecordedBus& recorded) {
  std::vector<evidence::Observation> readings;
  const auto tell = [&](evidence::Observable what, int category) {
    evidence::Seen seen;
    seen.category = category;
    readings.push_back({std::move(what), seen});
  };
  evidence::Observable heard = recorded.tap;
  heard.kind = Kind::kHeard;
  for (const auto& [modules, category] : {std::pair{&recorded.heard, 0}, std::pair{&recorded.never, 1}})
    for (const ModuleId module : *modules) {
      heard.module = module;
      tell(heard, category);
    }
  for (const QuietTogether& group : recorded.quiet) {
    evidence::Observable quiet = recorded.tap;
    quiet.kind = Kind::kQuiet;
    quiet.together = group.who;
    const std::vector<ModuleId>& others = group.meanwhile.empty() ? recorded.heard : group.meanwhile;
    std::set_difference(others.begin(), others.end(), group.who.begin(), group.who.end(),
                        std::back_inserter(quiet.meanwhile));
    tell(quiet, static_cast<int>(group.end));
  }
  for (const Answered& one : recorded.answered) {
    evidence::Observable hears;
    hears.kind = Kind::kHears;
    hears.module = one.listener;
    hears.from = one.speaker;
    tell(hears, one.answers ? 0 : 1);
  }
  for (const ToldCode& told : recorded.codes) {
    evidence::Observable code;
    code.kind = Kind::kCode;
    code.code = told.code;
    tell(code, told.past ? 1 : 0);
  }
  return readings;
}

}  // namespace halfsplit::app
