// SPDX-License-Identifier: Apache-2.0
// The order of reading: files and TOML; names of everything, so that anything may name anything; then the contents of
// each section, those first that others lean on (kinds of parts before setups, buses before pins, plugs before wires,
// pins before messages and codes).
#include "formats/loom_text.h"

#include <string_view>
#include <utility>
#include <vector>

#include "formats/loom_draft.h"
#include "formats/loom_files.h"
#include "formats/loom_sections.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;

class LoomReader {
 public:
  LoomReader(const text::Sources& sources, LoomReport& report, const std::vector<LoomFile>& files)
      : report_(report), files_(files), draft_(report) {
    for (std::uint32_t i = 0; i < sources.size(); ++i) draft_.loom.sources.push_back(sources.at(i).name());
  }

  circuit::Loom run() {
    read_top(draft_, files_);
    declare_all();
    read_places(draft_, places_);
    read_frames(draft_, frames_);
    read_parts(draft_, parts_);
    read_setups(draft_, setups_);
    read_connectors(draft_, connectors_);
    read_splices(draft_, splices_);
    read_studs(draft_, studs_);
    read_buses(draft_, buses_);
    read_modules(draft_, modules_);
    read_wires(draft_, wires_, runs_);
    read_bus_readers(draft_, buses_);
    read_messages(draft_, messages_);
    read_codes(draft_, codes_);
    read_lives(draft_, lives_);
    read_in_use_and_supply(draft_, files_);
    return std::move(draft_.loom);
  }

 private:
  void declare_all() {
    circuit::Loom& loom = draft_.loom;
    declare("places", draft_.places, loom.places, places_, "place");
    declare("setups", draft_.setups_by_name, loom.setups, setups_, "setup");
    declare_things("frames", loom.frames, frames_, Thing::Kind::kFrame, "frame");
    if (loom.frames.empty()) declare_chassis();
    declare_things("connectors", loom.connectors, connectors_, Thing::Kind::kConnector, "connector");
    declare_things("splices", loom.splices, splices_, Thing::Kind::kSplice, "splice");
    declare_things("studs", loom.studs, studs_, Thing::Kind::kStud, "stud");
    declare_things("parts", loom.parts, parts_, Thing::Kind::kPart, "part");
    declare_things("modules", loom.modules, modules_, Thing::Kind::kModule, "module");
    declare("codes", draft_.codes, loom.codes, codes_, "code");
    declare("live", draft_.lives, loom.lives, lives_, "live value");
    declare("buses", draft_.buses, loom.buses, buses_, "bus");
    declare("messages", draft_.messages, loom.messages, messages_, "message");
    for_each("wires", [&](const TomlEntry& entry) {
      if (draft_.declare(draft_.wires, entry.key, wires_.size(), entry.at, "wire", true))
        wires_.push_back({&entry, wires_.size()});
    });
    for_each("runs", [&](const TomlEntry& entry) {
      if (draft_.declare(draft_.runs, entry.key, runs_.size(), entry.at, "run")) runs_.push_back(&entry);
    });
  }

  // The frame of a loom that declares none; it stands nowhere in the file.
  void declare_chassis() {
    circuit::Frame chassis;
    chassis.name = "chassis";
    draft_.thing_by_name.emplace(chassis.name, Thing{Thing::Kind::kFrame, 0});
    draft_.loom.frames.push_back(std::move(chassis));
    draft_.things.add("chassis", {0, {0, 0, 0}});
  }

  template <class Function>
  void for_each(std::string_view section, const Function& function) {
    for (const LoomFile& file : files_) {
      const TomlEntry* entry = file.root.find(section);
      if (entry == nullptr) continue;
      if (entry->value.kind != Kind::kTable) {
        report_.error("bad-type", entry->value.at, 1,
                      "`" + std::string(section) + "` is a table of names, and here stands " +
                          std::string(kind_name(entry->value.kind)),
                      "write [" + std::string(section) + (section == "runs" ? "]" : ".NAME]"));
        report_.set_damaged();
        continue;
      }
      for (const TomlEntry& named : entry->value.entries)
        if (draft_.count_items(1, named.at)) function(named);
    }
  }

  template <class Value>
  void declare(std::string_view section, NameSet& set, std::vector<Value>& values, Entries& entries,
               std::string_view what) {
    const bool free =
        section == "codes" || section == "live" || section == "messages";  // shown as the reader words them
    for_each(section, [&](const TomlEntry& entry) {
      const bool sound = free ? declare_free(set, entry, values.size(), what)
                              : draft_.declare(set, entry.key, values.size(), entry.at, what);
      if (sound) add(values, entries, entry);
    });
  }

  // A name that no point and no run ever holds: any characters but control characters.
  bool declare_free(NameSet& set, const TomlEntry& entry, std::size_t index, std::string_view what) {
    std::string plain = entry.key;
    for (char& c : plain)
      if (static_cast<unsigned char>(c) >= 0x20U && c != 0x7F && c != ' ' && static_cast<unsigned char>(c) < 0x80U)
        c = 'x';
    if (const std::optional<TextProblem> bad = check_name(plain)) {
      report_.error("bad-name", entry.at, text::count_characters(entry.key), bad->message, bad->hint);
      return false;
    }
    const NameSet::Entry* first = set.add(entry.key, {index, entry.at});
    if (first != nullptr)
      report_.error("duplicate-name", entry.at, text::count_characters(entry.key),
                    std::string(what) + " \"" + entry.key + "\": the name is taken; it is first declared at " +
                        report_.sources().at(first->at.file).name() + ":" + std::to_string(first->at.line),
                    "each name once, over all files");
    return first == nullptr;
  }

  template <class Value>
  void declare_things(std::string_view section, std::vector<Value>& values, Entries& entries, Thing::Kind kind,
                      std::string_view what) {
    for_each(section, [&](const TomlEntry& entry) {
      if (!draft_.declare(draft_.things, entry.key, values.size(), entry.at, what)) return;
      draft_.thing_by_name.emplace(entry.key, Thing{kind, values.size()});
      add(values, entries, entry);
    });
  }

  template <class Value>
  void add(std::vector<Value>& values, Entries& entries, const TomlEntry& entry) {
    entries.push_back({&entry, values.size()});
    Value value;
    value.name = entry.key;
    value.where = report_.kept_span(entry.at, text::count_characters(entry.key));
    values.push_back(std::move(value));
  }

  LoomReport& report_;
  const std::vector<LoomFile>& files_;
  LoomDraft draft_;
  Entries places_, setups_, connectors_, splices_, studs_, frames_, parts_, modules_, wires_, codes_, lives_, buses_,
      messages_;
  std::vector<const TomlEntry*> runs_;
};

}  // namespace

base::Result<circuit::Loom> read_loom(const std::string& path, const SourceReader& read) {
  text::Sources sources;
  LoomReport report(sources);
  const std::vector<LoomFile> files = read_loom_files(path, read, sources, report);
  const bool first_read = !files.empty() && files.back().file == 0;
  if (!first_read) return report.take();
  circuit::Loom loom = LoomReader(sources, report, files).run();
  if (report.has_errors()) return report.take();
  return base::Result<circuit::Loom>(std::move(loom), report.take());
}

base::Result<circuit::Loom> read_loom_text(const std::string& name, const std::string& text) {
  return read_loom(name, [&](const std::string& path) -> base::Result<std::string> {
    if (path == name) return text;
    return base::make_error("file.missing", "there is no file " + path + ": this loom came as text alone",
                            "put everything into the one text");
  });
}

}  // namespace halfsplit::formats
