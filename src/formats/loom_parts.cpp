// SPDX-License-Identifier: Apache-2.0
// [parts.*]: the kind decides which keys there are (circuit/part_kinds.h).
#include <algorithm>
#include <string>
#include <utility>

#include "circuit/part_kinds.h"
#include "formats/loom_cavities.h"
#include "formats/loom_part_values.h"
#include "formats/loom_sections.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using circuit::Part;
using Kind = TomlValue::Kind;

// The record of the part's kind; without one nothing else of the part can be judged.
const circuit::PartKindInfo* read_kind(LoomDraft& draft, const std::string& who, const TomlValue& value) {
  LoomReport& report = draft.report;
  const std::vector<std::string_view>& words = loom_table(TableKind::kPart).find("kind")->words;
  if (value.kind != Kind::kTable) {
    report.error("bad-type", value.at, caret_length(value),
                 who + " is a table, and here stands " + std::string(kind_name(value.kind)),
                 "write its keys below a [header], or between { and }");
    return nullptr;
  }
  const TomlEntry* kind = value.find("kind");
  if (kind == nullptr) {
    report.error_unless_damaged("missing-key", value.at, 1, who + " lacks `kind`", "kind: " + list_words(words));
    return nullptr;
  }
  const circuit::PartKindInfo* info =
      kind->value.kind == Kind::kText ? circuit::find_part_kind(kind->value.text) : nullptr;
  if (info == nullptr)
    report.error("unknown-kind", kind->value.at, caret_length(kind->value),
                 kind->value.kind == Kind::kText ? "\"" + text::shorten(kind->value.text, 60) + "\" is no kind of part"
                                                 : "the kind of " + who + " is text",
                 report.full() ? "" : suggest(kind->value.text, words));
  return info;
}

// The plug's cavities are terminals of the part, in an order the file may give.
void read_plug_rows(LoomDraft& draft, TableReader& plug, const circuit::PartKindInfo& info,
                    circuit::Connector& connector) {
  const std::optional<Rows> rows = read_rows(draft, plug);
  if (!rows) return;
  for (const auto& row : *rows)
    for (const std::string& name : row)
      if (std::find(info.terminals.begin(), info.terminals.end(), name) == info.terminals.end())
        return plug.error("unknown-cavity", plug.has("rows") ? "rows" : "pins",
                          "a " + std::string(info.word) + " has no terminal \"" + text::shorten(name, 60) + "\"",
                          "its terminals are " + list_words(info.terminals));
  connector.rows = *rows;
}

bool wants_plug(TableReader& reader, const circuit::PartKindInfo& info) {
  const TomlValue* plug = reader.find("plug");
  if (plug == nullptr) return info.plug;
  if (plug->kind == Kind::kTable) return true;
  if (plug->kind == Kind::kFlag) return plug->flag;
  reader.error("bad-type", "plug", "`plug` of " + reader.who() + " is true, false or a table",
               "write plug = false, or plug = { unplug = 2 }");
  return info.plug;
}

void make_part_plug(LoomDraft& draft, TableReader& reader, const circuit::PartKindInfo& info, std::size_t index) {
  if (!wants_plug(reader, info)) return;
  Part& part = draft.loom.parts[index];
  circuit::Connector connector = make_plug(part.name, part.place, part.hazard, part.caution, part.where);
  connector.part = circuit::PartId(index);
  std::vector<std::string> terminals(info.terminals.begin(), info.terminals.end());
  sort_cavities(terminals);
  connector.rows = {std::move(terminals)};
  const TomlValue* value = reader.find("plug");
  if (value != nullptr && value->kind == Kind::kTable) {
    TableReader plug(draft.report, loom_table(TableKind::kPlug), "the plug of " + reader.who(), *value);
    read_plug_rows(draft, plug, info, connector);
    read_plug_manners(plug, connector);
    if (plug.has("place")) connector.place[0] = connector.place[1] = draft.place(plug.placed_text("place"));
  }
  part.plug = circuit::ConnectorId(draft.loom.connectors.size());
  draft.count_items(connector.rows.front().size(), reader.at("plug"));
  draft.loom.connectors.push_back(std::move(connector));
}

void read_part(LoomDraft& draft, const Declared& declared) {
  Part& part = draft.loom.parts[declared.index];
  const circuit::PartKindInfo* info = read_kind(draft, "part " + part.name, declared.entry->value);
  if (info == nullptr) return draft.mark_flawed(part.name);
  part.kind = info->kind;
  TableReader reader(draft.report, part_table(info->kind), std::string(info->word) + " " + part.name,
                     declared.entry->value);
  reader.check_owner(info->word);
  part.place = draft.place(reader.placed_text("place"));
  part.normally_closed = reader.word("normally") == 1U;
  part.led = reader.flag("led");
  part.runs_with = draft.setups(reader.placed_texts("runs_with"));
  part.part_number = reader.text("part_number");
  part.caution = reader.text("caution");
  part.hazard = read_hazard(reader);
  part.rate = reader.number("rate");
  part.repair_minutes = read_minutes(reader);
  part.part_money = reader.maybe_number("part_money");
  read_part_values(reader, draft.loom.system_volts, part);
  make_part_plug(draft, reader, *info, declared.index);
  if (reader.failed()) draft.mark_flawed(part.name);
}

}  // namespace

void read_parts(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_part(draft, declared);
}

}  // namespace halfsplit::formats
