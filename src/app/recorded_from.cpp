// SPDX-License-Identifier: Apache-2.0
#include "app/recorded_from.h"

#include <algorithm>
#include <optional>
#include <set>

#include "app/code_list.h"

namespace halfsplit::app {

namespace {

using circuit::ModuleId;

// All ours.
constexpr std::int64_t kLongEnough_us = 10'000'000;  // to say of somebody that it is never heard
constexpr std::uint64_t kLeastAsked = 3;             // unanswered, to say that one does not hear the other
constexpr std::size_t kMostLines = 4;                // occurrences named by their lines

std::vector<ModuleId> in_order(const std::set<ModuleId>& modules) { return {modules.begin(), modules.end()}; }

class Reading {
 public:
  Reading(const LoadedLoom& loom, const capture::Findings& findings, const std::map<std::uint32_t, ModuleId>& told)
      : loom_(loom.loom), findings_(findings), told_(told) {}

  RecordedFrom read(const evidence::Observable& tap, const std::vector<ModuleId>& awake, const std::string& file) {
    out_.recorded.tap = tap;
    out_.recorded.file = file;
    tell_heard();
    tell_never(awake);
    if (strangers_ > out_.recorded.heard.size() && out_.recorded.never.size() > out_.recorded.heard.size())
      note("witness.other-vehicle",
           "more strangers than modules of this loom, and most of its modules are not heard: is it this vehicle's?",
           "halfsplit undo takes the entry back; --dry only shows it");
    if (!findings_.timed)
      note("witness.no-times", "the recording has no times: nothing is taken from it of who went quiet",
           "record with times: candump -l, or -t a");
    for (const capture::SilentPattern& pattern : findings_.patterns) tell_quiet(pattern);
    for (const capture::Request& request : findings_.requests) tell_asked(request);
    tell_codes();
    out_.modules = std::move(modules_);
    return std::move(out_);
  }

 private:
  void note(const std::string& code, const std::string& what, const std::string& hint) {
    out_.notes.push_back(base::make_warning(code, what, hint));
  }

  [[nodiscard]] std::optional<ModuleId> by_address(std::uint32_t address) const {
    for (std::size_t m = 0; m < loom_.modules.size(); ++m)
      if (loom_.modules[m].address == address) return ModuleId(m);
    return std::nullopt;
  }

  // By an identifier that the drawing gives, or a group that only one of its modules without an address sends.
  [[nodiscard]] std::optional<ModuleId> by_messages(const capture::Sender& sender) const {
    for (const capture::Message& heard : sender.messages) {
      std::set<ModuleId> senders;
      for (const circuit::Message& drawn : loom_.messages) {
        const bool same_id = drawn.id && *drawn.id == heard.id;
        const bool same_group =
            sender.key.extended && drawn.pgn && *drawn.pgn == heard.pgn && !loom_.modules[drawn.from.index()].address;
        if (same_id || same_group) senders.insert(drawn.from);
      }
      if (senders.size() == 1) return *senders.begin();
    }
    return std::nullopt;
  }

  [[nodiscard]] std::optional<ModuleId> module_of(const capture::Sender& sender) const {
    const auto said = told_.find(sender.key.number);
    if (said != told_.end()) return said->second;
    if (sender.key.extended)
      if (const auto found = by_address(sender.key.number)) return found;
    return by_messages(sender);
  }

  void tell_heard() {
    std::string strangers;
    std::set<ModuleId> heard;
    for (const capture::Sender& sender : findings_.senders) {
      modules_.push_back(module_of(sender));
      if (modules_.back()) heard.insert(*modules_.back());
      if (modules_.back() && sender.key.extended) addresses_.emplace(sender.key.number, *modules_.back());
      strangers_ += modules_.back() ? 0 : 1;
      if (!modules_.back())
        strangers += (strangers.empty() ? "" : ", ") + std::string(sender.key.extended ? "address " : "identifier ") +
                     std::to_string(sender.key.number);
    }
    out_.recorded.heard = in_order(heard);
    if (!strangers.empty())
      note("witness.strangers", "no module of this loom is known by " + strangers + ": left out",
           "if you know which it is: --who NUMBER=MODULE, or write `address` in the loom");
  }

  // Can it be told from a recording whether this module is in it?
  [[nodiscard]] bool would_be_known(ModuleId module) const {
    if (loom_.modules[module.index()].address) return true;
    if (std::any_of(told_.begin(), told_.end(), [&](const auto& one) { return one.second == module; })) return true;
    return std::any_of(loom_.messages.begin(), loom_.messages.end(), [&](const circuit::Message& message) {
      return message.from == module && (message.id || message.pgn) && message.every_ms > 0.0;
    });
  }

  void tell_never(const std::vector<ModuleId>& awake) {
    std::set<ModuleId> missing;
    const std::vector<ModuleId>& heard = out_.recorded.heard;
    for (const ModuleId module : awake)
      if (would_be_known(module) && !std::binary_search(heard.begin(), heard.end(), module)) missing.insert(module);
    if (missing.empty()) return;
    if (!findings_.timed || findings_.duration_us < kLongEnough_us)
      return note("witness.too-short",
                  "the recording is shorter than 10 s, or has no times: who is not in it may just not have sent",
                  "record a minute or more");
    out_.recorded.never = in_order(missing);
  }

  [[nodiscard]] std::set<ModuleId> modules_at(const std::vector<std::size_t>& senders) const {
    std::set<ModuleId> modules;
    for (const std::size_t s : senders)
      if (modules_.at(s)) modules.insert(*modules_[s]);
    return modules;
  }

  // Lines of the longest silence of each time.
  [[nodiscard]] std::string times_text(const std::vector<const capture::SilentEvent*>& events) const {
    std::string text = std::to_string(events.size()) + (events.size() == 1 ? " time: " : " times: ");
    for (std::size_t i = 0; i < std::min(events.size(), kMostLines); ++i) {
      const capture::Gap& gap = events[i]->longest();
      text += (i > 0 ? ", " : "") + std::to_string(gap.before.line) + "-" + std::to_string(gap.after.line);
    }
    return text + (events.size() > kMostLines ? " ..." : "");
  }

  void tell_quiet(const capture::SilentPattern& pattern) {
    const std::set<ModuleId> who = modules_at(pattern.senders);
    if (who.empty()) return;
    std::vector<const capture::SilentEvent*> events;
    std::size_t came_back = 0, claimed = 0;
    bool whole_bus = false;
    std::set<ModuleId> meanwhile(out_.recorded.heard.begin(), out_.recorded.heard.end());
    for (const std::size_t e : pattern.events) {
      const capture::SilentEvent& event = findings_.events.at(e);
      whole_bus = whole_bus || event.whole_bus;
      const bool to_the_end =
          std::all_of(event.silences.begin(), event.silences.end(), [](const auto& s) { return s.to_the_end; });
      if (event.whole_bus || to_the_end) continue;
      events.push_back(&event);
      for (const capture::Silence& silence : event.silences) {
        came_back += silence.to_the_end ? 0 : 1;
        claimed += silence.claimed ? 1 : 0;
      }
      const std::set<ModuleId> heard = modules_at(event.heard);
      for (auto i = meanwhile.begin(); i != meanwhile.end();)
        i = heard.contains(*i) ? std::next(i) : meanwhile.erase(i);
    }
    if (whole_bus)
      note("witness.whole-bus",
           "at times nobody at all was heard: left out, the key or the adapter may have been moved",
           "if neither was touched: halfsplit saw \"recording on BUS\" \"returns A + B + ...\"");
    if (events.empty()) {
      if (!whole_bus)
        note("witness.to-the-end", names(who) + " went quiet until the end: whether they start anew is not known",
             "left out; record again, and longer");
      return;
    }
    QuietTogether group;
    group.who = in_order(who);
    group.end = 2 * claimed >= came_back ? QuietTogether::End::kRestarts : QuietTogether::End::kReturns;
    group.remark = times_text(events);
    for (const ModuleId module : who) meanwhile.erase(module);
    group.meanwhile = in_order(meanwhile);
    if (all_others_of(who) == group.meanwhile) group.meanwhile.clear();
    merge(std::move(group), events.size());
  }

  [[nodiscard]] std::vector<ModuleId> all_others_of(const std::set<ModuleId>& who) const {
    std::vector<ModuleId> others;
    for (const ModuleId module : out_.recorded.heard)
      if (!who.contains(module)) others.push_back(module);
    return others;
  }

  // Two patterns of addresses may be one of modules: the one with more events stands.
  void merge(QuietTogether group, std::size_t events) {
    for (std::size_t i = 0; i < out_.recorded.quiet.size(); ++i)
      if (out_.recorded.quiet[i].who == group.who) {
        if (events > events_of_[i]) {
          out_.recorded.quiet[i] = std::move(group);
          events_of_[i] = events;
        }
        return;
      }
    out_.recorded.quiet.push_back(std::move(group));
    events_of_.push_back(events);
  }

  [[nodiscard]] std::string names(const std::set<ModuleId>& modules) const {
    std::string text;
    for (const ModuleId module : modules) text += (text.empty() ? "" : ", ") + loom_.modules[module.index()].name;
    return text;
  }

  void tell_asked(const capture::Request& request) {
    const auto from = addresses_.find(request.from), to = addresses_.find(request.to);
    if (request.to == 255 || from == addresses_.end() || to == addresses_.end() || from->second == to->second) return;
    const bool answers = request.answered + request.refused > 0;
    if (!answers && request.unanswered < kLeastAsked) return;
    for (Answered& one : out_.recorded.answered)
      if (one.listener == to->second && one.speaker == from->second) {
        one.answers = one.answers || answers;  // hears it at all
        return;
      }
    out_.recorded.answered.push_back(
        {to->second, from->second, answers,
         std::to_string(request.times) + " asked from line " + std::to_string(request.first.line)});
  }

  void tell_codes() {
    for (const capture::SeenCode& seen : findings_.codes) {
      const auto module = addresses_.find(seen.source.number);
      if (!seen.source.extended || module == addresses_.end()) continue;
      const base::Result<CodeList> list =
          parse_code_list(loom_, "list " + loom_.modules[module->second.index()].name,
                          "SPN " + std::to_string(seen.code.spn) + " FMI " + std::to_string(seen.code.fmi));
      if (!list || list->codes.empty() || list->codes.front().code.is_none()) continue;
      const circuit::CodeId code = list->codes.front().code;
      const bool past = seen.pgn != can::kPgnActiveCodes || !seen.at_the_end;
      const auto same = std::find_if(out_.recorded.codes.begin(), out_.recorded.codes.end(),
                                     [&](const ToldCode& told) { return told.code == code; });
      if (same == out_.recorded.codes.end())
        out_.recorded.codes.push_back({code, past});
      else
        same->past = same->past && past;
    }
  }

  const circuit::Loom& loom_;
  const capture::Findings& findings_;
  const std::map<std::uint32_t, ModuleId>& told_;
  RecordedFrom out_;
  std::vector<std::optional<ModuleId>> modules_;  // by sender
  std::map<std::uint32_t, ModuleId> addresses_;
  std::size_t strangers_ = 0;
  std::vector<std::size_t> events_of_;  // by group
};

}  // namespace

std::vector<ModuleId> expected_on(const LoadedLoom& loom, circuit::BusId bus) {
  std::set<ModuleId> seated, expected;
  for (const std::size_t s : loom.netlist.buses.at(bus.index()).seats)
    seated.insert(loom.netlist.transceivers[s].module);
  expected = seated;
  for (const circuit::Message& message : loom.loom.messages)
    if (std::any_of(message.to.begin(), message.to.end(), [&](ModuleId to) { return seated.contains(to); }))
      expected.insert(message.from);
  for (const circuit::Code& code : loom.loom.codes)
    if (!code.lost.is_none() && seated.contains(code.module)) expected.insert(code.lost);
  for (auto i = expected.begin(); i != expected.end();)
    i = loom.netlist.modules[i->index()].seats.empty() ? expected.erase(i) : std::next(i);
  return in_order(expected);
}

RecordedFrom recorded_from(const LoadedLoom& loom, const evidence::Observable& tap, const capture::Findings& findings,
                           const std::map<std::uint32_t, ModuleId>& told, const std::vector<ModuleId>& awake,
                           const std::string& file) {
  return Reading(loom, findings, told).read(tap, awake, file);
}

}  // namespace halfsplit::app
