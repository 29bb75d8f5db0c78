// SPDX-License-Identifier: Apache-2.0
// A loom on its way from tables to values: the names declared so far, where each stands, and the helpers that every
// section's reader shares. Ids are given out before contents are read, so that anything may name anything.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "circuit/loom.h"
#include "formats/loom_fields.h"
#include "formats/loom_report.h"
#include "formats/point_index.h"
#include "formats/table_reader.h"
#include "formats/toml_tree.h"

namespace halfsplit::formats {

// Names of one set, each declared once.
class NameSet {
 public:
  struct Entry {
    std::size_t index;
    text::Position at;
  };
  [[nodiscard]] const Entry* find(std::string_view name) const;
  // The entry already there, when the name is taken.
  const Entry* add(const std::string& name, Entry entry);
  [[nodiscard]] std::vector<std::string> names() const;  // sorted
  [[nodiscard]] std::size_t size() const { return entries_.size(); }

 private:
  std::unordered_map<std::string, Entry> entries_;
};

// One table of a section: [places.cab] is the entry "cab" of section "places".
struct Declared {
  const TomlEntry* entry;
  std::size_t index;  // of the id it was given
};

class LoomDraft {
 public:
  explicit LoomDraft(LoomReport& findings) : report(findings) {}

  // Finds a declared name; reports unknown-place, unknown-setup, ... when there is none.
  [[nodiscard]] circuit::PlaceId place(const std::optional<PlacedText>& name);
  [[nodiscard]] circuit::FrameId frame(const std::optional<PlacedText>& name);
  [[nodiscard]] circuit::PartId part(const std::optional<PlacedText>& name);
  [[nodiscard]] circuit::ModuleId module(const std::optional<PlacedText>& name);
  [[nodiscard]] circuit::BusId bus(const std::optional<PlacedText>& name);
  // A module or, when no module has the name, a message and its sender.
  struct Lost {
    circuit::ModuleId module;
    circuit::MessageId message;
  };
  [[nodiscard]] Lost lost(const std::optional<PlacedText>& name);
  [[nodiscard]] std::vector<circuit::SetupId> setups(const std::vector<PlacedText>& names);

  // Index of a module's pin written "A:14" or, with an unnamed plug, "14"; reports unknown-pin when there is none.
  [[nodiscard]] std::optional<std::size_t> pin(circuit::ModuleId module, const PlacedText& name);
  void remember_pin(std::size_t module, const std::string& plug, const std::string& cavity, std::size_t index);
  [[nodiscard]] bool has_pin(std::size_t module, const std::string& plug, const std::string& cavity) const;

  // A thing whose own table was wrong: what others say about its insides is not judged.
  void mark_flawed(const std::string& name) { flawed_.insert(name); }
  [[nodiscard]] bool is_flawed(const std::string& name) const { return flawed_.count(name) > 0; }
  void mark_flawed_bus(const std::string& name) { flawed_buses_.insert(name); }
  [[nodiscard]] bool is_flawed_bus(const std::string& name) const { return flawed_buses_.count(name) > 0; }

  // False, with one error, when the loom has grown past kMostLoomItems.
  bool count_items(std::size_t items, text::Position at);

  // Checks a name and adds it to a set; reports bad-name and duplicate-name. True when it is new and sound.
  bool declare(NameSet& set, const std::string& name, std::size_t index, text::Position at, std::string_view what,
               bool dots = false);

  LoomReport& report;
  circuit::Loom loom;
  NameSet places, setups_by_name, wires, runs, codes, lives, buses, messages;
  NameSet things;  // connectors, splices, studs, frames, parts, modules share one set of names
  std::unordered_map<std::string, Thing> thing_by_name;

 private:
  // Index of a thing of the kind; reports when there is none.
  [[nodiscard]] std::optional<std::size_t> thing(const PlacedText& name, Thing::Kind kind, std::string_view code,
                                                 std::string_view what);
  void unknown(std::string_view code, const PlacedText& name, std::string_view what,
               const std::vector<std::string>& names);

  std::set<std::string> flawed_, flawed_buses_;
  std::unordered_map<std::string, std::size_t> pins_;  // "module index|A:14"
  std::size_t items_ = 0;
};

// "A:14", or "14" when the plug has no name.
[[nodiscard]] std::string pin_text(const std::string& plug, const std::string& cavity);

// What the tables of many sections have in common.
[[nodiscard]] circuit::Hazard read_hazard(TableReader& reader);
[[nodiscard]] std::optional<double> read_minutes(TableReader& reader);  // repair_minutes

}  // namespace halfsplit::formats
