// SPDX-License-Identifier: Apache-2.0
// [connectors.*], [splices.*], [studs.*], [frames.*].
#include <string>
#include <utility>

#include "formats/loom_cavities.h"
#include "formats/loom_sections.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;

void read_sides(TableReader& reader, circuit::Connector& connector) {
  const TomlValue* value = reader.find("sides");
  if (value == nullptr) return;
  const bool two = value->kind == Kind::kList && value->items.size() == 2 && value->items[0].kind == Kind::kText &&
                   value->items[1].kind == Kind::kText;
  if (!two)
    return reader.error("bad-sides", "sides", "`sides` of " + reader.who() + " is a list of two names",
                        "name them for where they lead: [\"cab\", \"engine\"]");
  for (const TomlValue& item : value->items)
    if (const std::optional<TextProblem> bad = check_name(item.text))
      return reader.report().error("bad-name", item.at, caret_length(item), bad->message, bad->hint);
  if (value->items[0].text == value->items[1].text)
    return reader.error("bad-sides", "sides", "both sides of " + reader.who() + " are named " + value->items[0].text,
                        "name them for where they lead: [\"cab\", \"engine\"]");
  for (std::size_t i = 0; i < 2; ++i) connector.sides[i] = value->items[i].text;
}

// `place = { cab = "...", engine = "..." }`
void read_side_place(LoomDraft& draft, TableReader& reader, const TomlEntry& entry, circuit::Connector& connector) {
  const bool first = entry.key == connector.sides[0];
  if (!first && entry.key != connector.sides[1]) {
    if (connector.sides[0].empty()) return;  // reported already
    return draft.report.error("unknown-side", entry.at, text::count_characters(entry.key),
                              reader.who() + " has no side \"" + text::shorten(entry.key, 60) + "\"",
                              "its sides are " + connector.sides[0] + " and " + connector.sides[1]);
  }
  if (entry.value.kind != Kind::kText)
    return draft.report.error("bad-type", entry.value.at, 1, "a place is named by text", "write the place's name");
  connector.place[first ? 0 : 1] = draft.place(PlacedText{entry.value.text, entry.value.at});
}

void read_connector_place(LoomDraft& draft, TableReader& reader, circuit::Connector& connector) {
  const TomlValue* value = reader.find("place");
  if (value == nullptr) return;
  if (value->kind == Kind::kTable) {
    for (const TomlEntry& entry : value->entries) read_side_place(draft, reader, entry, connector);
  } else {
    connector.place[0] = connector.place[1] = draft.place(reader.placed_text("place"));
  }
}

void read_connector(LoomDraft& draft, const Declared& declared) {
  circuit::Connector& connector = draft.loom.connectors[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kConnector), "connector " + connector.name,
                     declared.entry->value);
  read_sides(reader, connector);
  read_connector_place(draft, reader, connector);
  connector.rows = read_rows(draft, reader).value_or(Rows{});
  read_plug_manners(reader, connector);
  connector.pluggable = reader.flag("pluggable");
  connector.caution = reader.text("caution");
  connector.hazard = read_hazard(reader);
  connector.rate = reader.number("rate");
  connector.repair_minutes = read_minutes(reader);
  connector.part_money = reader.maybe_number("part_money");
  if (reader.failed()) draft.mark_flawed(connector.name);
}

void read_splice(LoomDraft& draft, const Declared& declared) {
  circuit::Splice& splice = draft.loom.splices[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kSplice), "splice " + splice.name, declared.entry->value);
  splice.place = draft.place(reader.placed_text("place"));
  splice.probe = reader.flag("probe");
  splice.hazard = read_hazard(reader);
  splice.rate = reader.number("rate");
  splice.repair_minutes = read_minutes(reader);
}

void read_stud(LoomDraft& draft, const Declared& declared) {
  circuit::Stud& stud = draft.loom.studs[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kStud), "stud " + stud.name, declared.entry->value);
  stud.place = draft.place(reader.placed_text("place"));
  stud.ohm = reader.maybe_number("ohm");
  stud.hazard = read_hazard(reader);
  stud.rate = reader.number("rate");
  stud.repair_minutes = read_minutes(reader);
  stud.frame = draft.frame(reader.placed_text("frame"));
  if (reader.has("frame")) return;
  if (draft.loom.frames.size() == 1)
    stud.frame = circuit::FrameId(0);
  else
    draft.report.error_unless_damaged("missing-key", declared.entry->at, text::count_characters(stud.name),
                                      reader.who() + " lacks `frame`, and there is more than one",
                                      "say which frame it is bolted to");
}

}  // namespace

void read_connectors(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_connector(draft, declared);
}

void read_splices(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_splice(draft, declared);
}

void read_studs(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_stud(draft, declared);
}

void read_frames(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) {
    circuit::Frame& frame = draft.loom.frames[declared.index];
    TableReader reader(draft.report, loom_table(TableKind::kFrame), "frame " + frame.name, declared.entry->value);
    frame.place = draft.place(reader.placed_text("place"));
  }
}

}  // namespace halfsplit::formats
