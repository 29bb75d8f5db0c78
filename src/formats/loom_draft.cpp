// SPDX-License-Identifier: Apache-2.0
#include "formats/loom_draft.h"

#include <algorithm>

#include "base/nearest.h"
#include "formats/loom_text.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

std::string quoted(std::string_view text) { return "\"" + text::shorten(text, 60) + "\""; }

constexpr std::size_t kMostListed = 12;  // names in a hint

std::string pin_key(std::size_t module, const std::string& pin) { return std::to_string(module) + "|" + pin; }

}  // namespace

const NameSet::Entry* NameSet::find(std::string_view name) const {
  const auto found = entries_.find(std::string(name));
  return found == entries_.end() ? nullptr : &found->second;
}

const NameSet::Entry* NameSet::add(const std::string& name, Entry entry) {
  const auto [where, fresh] = entries_.emplace(name, entry);
  return fresh ? nullptr : &where->second;
}

std::vector<std::string> NameSet::names() const {
  std::vector<std::string> all;
  all.reserve(entries_.size());
  for (const auto& [name, entry] : entries_) all.push_back(name);
  std::sort(all.begin(), all.end());
  return all;
}

void LoomDraft::unknown(std::string_view code, const PlacedText& name, std::string_view what,
                        const std::vector<std::string>& names) {
  const std::string near = base::did_you_mean(name.text, names);
  report.error_unless_damaged(code, name.at, caret_length(name),
                              "there is no " + std::string(what) + " named " + quoted(name.text),
                              near.empty() ? "declare it, or take it away" : near);
}

circuit::PlaceId LoomDraft::place(const std::optional<PlacedText>& name) {
  if (!name) return {};
  if (const NameSet::Entry* entry = places.find(name->text)) return circuit::PlaceId(entry->index);
  unknown("unknown-place", *name, "place",
          report.spend_hint(places.size()) ? places.names() : std::vector<std::string>());
  return {};
}

std::vector<circuit::SetupId> LoomDraft::setups(const std::vector<PlacedText>& names) {
  std::vector<circuit::SetupId> ids;
  std::set<circuit::SetupId> known;
  for (const PlacedText& name : names) {
    const NameSet::Entry* entry = setups_by_name.find(name.text);
    if (entry == nullptr) {
      unknown("unknown-setup", name, "setup",
              report.spend_hint(setups_by_name.size()) ? setups_by_name.names() : std::vector<std::string>());
      continue;
    }
    const circuit::SetupId id(entry->index);
    if (known.insert(id).second) ids.push_back(id);
  }
  return ids;
}

std::optional<std::size_t> LoomDraft::thing(const PlacedText& name, Thing::Kind kind, std::string_view code,
                                            std::string_view what) {
  const auto found = thing_by_name.find(name.text);
  if (found != thing_by_name.end() && found->second.kind == kind) return found->second.index;
  std::vector<std::string> names;
  if (report.spend_hint(thing_by_name.size()))
    for (const auto& [other, entry] : thing_by_name)
      if (entry.kind == kind) names.push_back(other);
  std::sort(names.begin(), names.end());
  unknown(code, name, what, names);
  return std::nullopt;
}

circuit::FrameId LoomDraft::frame(const std::optional<PlacedText>& name) {
  if (!name) return {};
  const auto index = thing(*name, Thing::Kind::kFrame, "unknown-frame", "frame");
  return index ? circuit::FrameId(*index) : circuit::FrameId();
}

circuit::PartId LoomDraft::part(const std::optional<PlacedText>& name) {
  if (!name) return {};
  const auto index = thing(*name, Thing::Kind::kPart, "unknown-part", "part");
  return index ? circuit::PartId(*index) : circuit::PartId();
}

circuit::ModuleId LoomDraft::module(const std::optional<PlacedText>& name) {
  if (!name) return {};
  const auto index = thing(*name, Thing::Kind::kModule, "unknown-module", "module");
  return index ? circuit::ModuleId(*index) : circuit::ModuleId();
}

circuit::BusId LoomDraft::bus(const std::optional<PlacedText>& name) {
  if (!name) return {};
  if (const NameSet::Entry* entry = buses.find(name->text)) return circuit::BusId(entry->index);
  const std::vector<std::string> names = report.spend_hint(buses.size()) ? buses.names() : std::vector<std::string>();
  std::string hint = base::did_you_mean(name->text, names);
  if (hint.empty() && !names.empty() && loom.buses.front().declared && names.size() <= kMostListed)
    hint = "write " + list_words({names.begin(), names.end()});
  report.error_unless_damaged("unknown-bus", name->at, caret_length(*name),
                              "there is no bus named " + quoted(name->text),
                              hint.empty() ? "declare it: [buses.NAME]" : hint);
  return {};
}

LoomDraft::Lost LoomDraft::lost(const std::optional<PlacedText>& name) {
  if (!name) return {};
  const auto found = thing_by_name.find(name->text);
  if (found != thing_by_name.end() && found->second.kind == Thing::Kind::kModule)
    return {circuit::ModuleId(found->second.index), {}};
  if (const NameSet::Entry* entry = messages.find(name->text))
    return {loom.messages[entry->index].from, circuit::MessageId(entry->index)};
  std::vector<std::string> names;
  if (report.spend_hint(thing_by_name.size() + messages.size())) {
    names = messages.names();
    for (const auto& [other, entry] : thing_by_name)
      if (entry.kind == Thing::Kind::kModule) names.push_back(other);
    std::sort(names.begin(), names.end());
  }
  unknown("unknown-module", *name, "module and no message", names);
  return {};
}

std::string pin_text(const std::string& plug, const std::string& cavity) {
  return plug.empty() ? cavity : plug + ":" + cavity;
}

void LoomDraft::remember_pin(std::size_t module, const std::string& plug, const std::string& cavity,
                             std::size_t index) {
  pins_.emplace(pin_key(module, pin_text(plug, cavity)), index);
}

bool LoomDraft::has_pin(std::size_t module, const std::string& plug, const std::string& cavity) const {
  return pins_.count(pin_key(module, pin_text(plug, cavity))) > 0;
}

std::optional<std::size_t> LoomDraft::pin(circuit::ModuleId module, const PlacedText& name) {
  if (module.is_none()) return std::nullopt;
  const auto found = pins_.find(pin_key(module.index(), name.text));
  if (found != pins_.end()) return found->second;
  const circuit::Module& owner = loom.modules[module.index()];
  if (is_flawed(owner.name)) return std::nullopt;
  std::vector<std::string> names;
  if (report.spend_hint(owner.pins.size()))
    for (const circuit::ModulePin& candidate : owner.pins) names.push_back(pin_text(candidate.plug, candidate.cavity));
  const std::string near = base::did_you_mean(name.text, names);
  report.error_unless_damaged("unknown-pin", name.at, caret_length(name),
                              owner.name + " has no pin " + quoted(name.text),
                              near.empty() ? "declare it in [modules." + owner.name + ".pins]" : near);
  return std::nullopt;
}

bool LoomDraft::count_items(std::size_t items, text::Position at) {
  const bool was_within = items_ <= kMostLoomItems;
  items_ += items;
  if (items_ <= kMostLoomItems) return true;
  if (was_within)
    report.error("too-many", at, 1, "the loom holds more than 200,000 names, cavities and wires",
                 "a vehicle has fewer; split it, or look for a slip in a list of pins");
  return false;
}

bool LoomDraft::declare(NameSet& set, const std::string& name, std::size_t index, text::Position at,
                        std::string_view what, bool dots) {
  const std::size_t length = text::count_characters(name);
  if (const std::optional<TextProblem> bad = check_name(name, dots)) {
    report.error("bad-name", at, length, bad->message, bad->hint);
    return false;
  }
  const NameSet::Entry* first = set.add(name, {index, at});
  if (first == nullptr) return true;
  if (first->at.line == 0) {
    report.error("duplicate-name", at, length, "the name chassis is taken by the frame of a loom without [frames]",
                 "declare the frame as [frames.chassis], or rename this " + std::string(what));
    return false;
  }
  const text::Source& source = report.sources().at(first->at.file);
  report.error("duplicate-name", at, length,
               std::string(what) + " " + quoted(name) + ": the name is taken; it is first declared at " +
                   source.name() + ":" + std::to_string(first->at.line) + ":" + std::to_string(first->at.column),
               "one name, one thing, over all files: rename one of the two");
  return false;
}

circuit::Hazard read_hazard(TableReader& reader) {
  const std::optional<std::size_t> word = reader.word("hazard");
  return word ? static_cast<circuit::Hazard>(*word + 1) : circuit::Hazard::kNone;
}

std::optional<double> read_minutes(TableReader& reader) { return reader.maybe_number("repair_minutes"); }

}  // namespace halfsplit::formats
