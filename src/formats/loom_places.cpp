// SPDX-License-Identifier: Apache-2.0
// [places.*] and [setups.*].
#include <algorithm>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "base/nearest.h"
#include "formats/loom_sections.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using circuit::SetupId;

void read_place(LoomDraft& draft, const Declared& declared) {
  circuit::Place& place = draft.loom.places[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kPlace), "place " + place.name, declared.entry->value);
  place.minutes = reader.number("minutes");
  place.needs = draft.setups(reader.placed_texts("needs"));
  for (const std::size_t word : reader.words("stress")) place.stress.push_back(static_cast<circuit::Stress>(word));
  place.caution = reader.text("caution");
  place.note = reader.text("note");
  place.hazard = read_hazard(reader);
}

// One entry of `sets`: a switch and the state it is put into.
void read_switch_state(LoomDraft& draft, const std::string& who, const TomlEntry& entry, circuit::Setup& setup) {
  const std::size_t length = text::count_characters(entry.key);
  const auto found = draft.thing_by_name.find(entry.key);
  if (found == draft.thing_by_name.end()) {
    std::vector<std::string> names;
    if (draft.report.spend_hint(draft.loom.parts.size()))
      for (const circuit::Part& part : draft.loom.parts)
        if (part.kind == circuit::PartKind::kSwitch) names.push_back(part.name);
    const std::string near = base::did_you_mean(entry.key, names);
    return draft.report.error_unless_damaged("unknown-part", entry.at, length,
                                             "there is no switch named \"" + text::shorten(entry.key, 60) + "\"",
                                             near.empty() ? "declare it in [parts] with kind = \"switch\"" : near);
  }
  const bool is_part = found->second.kind == Thing::Kind::kPart;
  if (is_part && draft.is_flawed(entry.key)) return;
  if (!is_part || draft.loom.parts[found->second.index].kind != circuit::PartKind::kSwitch)
    return draft.report.error("wrong-kind", entry.at, length, entry.key + " is no switch, so " + who + " cannot set it",
                              "only parts of kind \"switch\" are moved by setups");
  const std::string& word = entry.value.text;
  if (entry.value.kind != TomlValue::Kind::kText || (word != "open" && word != "closed"))
    return draft.report.error("bad-word", entry.value.at, caret_length(entry.value),
                              "a switch is set to open or closed", "write \"open\" or \"closed\"");
  setup.sets.emplace_back(circuit::PartId(found->second.index), word == "closed");
}

void read_sets(LoomDraft& draft, TableReader& reader, circuit::Setup& setup) {
  const TomlValue* sets = reader.find("sets");
  if (sets == nullptr) return;
  if (sets->kind != TomlValue::Kind::kTable)
    return reader.error("bad-type", "sets", "`sets` of " + reader.who() + " is a table",
                        "write sets = { S1 = \"closed\" }");
  for (const TomlEntry& entry : sets->entries) read_switch_state(draft, reader.who(), entry, setup);
}

void read_setup(LoomDraft& draft, const Declared& declared) {
  circuit::Setup& setup = draft.loom.setups[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kSetup), "setup " + setup.name, declared.entry->value);
  setup.do_minutes = reader.number("do");
  setup.undo_minutes = reader.number("undo");
  setup.needs = draft.setups(reader.placed_texts("needs"));
  setup.excludes = draft.setups(reader.placed_texts("excludes"));
  setup.caution = reader.text("caution");
  setup.note = reader.text("note");
  setup.leave = reader.flag("leave");
  read_sets(draft, reader, setup);
  const SetupId self(declared.index);
  if (std::find(setup.excludes.begin(), setup.excludes.end(), self) != setup.excludes.end())
    reader.error("excludes-itself", "excludes", reader.who() + " excludes itself", "take it out of the list");
}

// What A excludes excludes A.
void make_mutual(std::vector<circuit::Setup>& setups) {
  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  for (std::size_t i = 0; i < setups.size(); ++i)
    for (const SetupId other : setups[i].excludes) {
      pairs.emplace_back(i, other.index());
      pairs.emplace_back(other.index(), i);
    }
  std::sort(pairs.begin(), pairs.end());
  pairs.erase(std::unique(pairs.begin(), pairs.end()), pairs.end());
  for (circuit::Setup& setup : setups) setup.excludes.clear();
  for (const auto& [setup, other] : pairs) setups[setup].excludes.emplace_back(other);
}

// Walks `needs` depth first with a stack of its own; a setup met again while it is on the stack closes a circle.
class CircleFinder {
 public:
  CircleFinder(LoomDraft& draft, const Entries& entries) : draft_(draft), setups_(draft.loom.setups) {
    state_.assign(setups_.size(), State::kNew);
    at_.assign(setups_.size(), {});
    for (const Declared& declared : entries) at_[declared.index] = declared.entry->at;
  }

  void run() {
    for (std::size_t i = 0; i < setups_.size(); ++i)
      if (state_[i] == State::kNew) walk(i);
  }

 private:
  enum class State : std::uint8_t { kNew, kOpen, kDone };

  void walk(std::size_t start) {
    enter(start);
    while (!stack_.empty()) {
      auto& [setup, next] = stack_.back();
      if (next == setups_[setup].needs.size()) {
        state_[setup] = State::kDone;
        stack_.pop_back();
        continue;
      }
      const std::size_t need = setups_[setup].needs[next++].index();
      if (state_[need] == State::kOpen)
        report(need);
      else if (state_[need] == State::kNew)
        enter(need);
    }
  }

  void enter(std::size_t setup) {
    state_[setup] = State::kOpen;
    stack_.emplace_back(setup, 0);
  }

  void report(std::size_t need) {
    constexpr std::size_t kMostNamed = 12;
    std::string chain;
    std::size_t named = 0;
    bool inside = false;
    for (const auto& [setup, next] : stack_) {
      inside = inside || setup == need;
      if (inside && named++ < kMostNamed) chain += setups_[setup].name + " -> ";
    }
    if (named > kMostNamed) chain += "... -> ";
    const std::string& name = setups_[need].name;
    draft_.report.error("needs-circle", at_[need], text::count_characters(name),
                        "setups need each other in a circle: " + chain + name,
                        "what is needed first needs nothing of the later ones: take one need away");
  }

  LoomDraft& draft_;
  const std::vector<circuit::Setup>& setups_;
  std::vector<State> state_;
  std::vector<text::Position> at_;
  std::vector<std::pair<std::size_t, std::size_t>> stack_;  // setup, its next need
};

}  // namespace

void read_places(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_place(draft, declared);
}

void read_setups(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_setup(draft, declared);
  make_mutual(draft.loom.setups);
  CircleFinder(draft, entries).run();
}

}  // namespace halfsplit::formats
