// SPDX-License-Identifier: Apache-2.0
// [messages.*]: who sends what on which bus, and who waits for it.
#include <algorithm>
#include <string>

#include "can/j1939_groups.h"
#include "formats/loom_buses.h"
#include "formats/loom_sections.h"

namespace halfsplit::formats {

namespace {

using circuit::Message;

void read_listeners(LoomDraft& draft, TableReader& reader, Message& message) {
  for (const PlacedText& name : reader.placed_texts("to")) {
    const circuit::ModuleId id = draft.module(name);
    if (id.is_none() || std::find(message.to.begin(), message.to.end(), id) != message.to.end()) continue;
    if (id == message.from)
      draft.report.error("bad-listener", name.at, caret_length(name), name.text + " sends " + reader.who() + " itself",
                         "`to` names the modules that wait for it: take it out of the list");
    else
      message.to.push_back(id);
  }
}

void read_message_bus(LoomDraft& draft, TableReader& reader, Message& message) {
  const std::optional<PlacedText> name = reader.placed_text("bus");
  message.bus = draft.bus(name);
  if (message.bus.is_none() || message.from.is_none()) return;
  const circuit::Module& sender = draft.loom.modules[message.from.index()];
  if (draft.is_flawed(sender.name) || has_seat(sender, message.bus)) return;
  reader.error("no-seat", "bus",
               sender.name + " sends " + reader.who() + " on bus " + name->text + ", and sits not on it",
               "name a bus it sits on, or give it pins on this one");
}

// What the group tells and how often, where the loom says neither.
void fill_from_group(const can::J1939Group& group, TableReader& reader, Message& message) {
  if (!reader.has("text")) message.text = std::string(group.name) + ": " + std::string(group.tells);
  if (!reader.has("every_ms")) message.every_ms = group.every_ms;
}

void read_message(LoomDraft& draft, const Declared& declared) {
  Message& message = draft.loom.messages[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kMessage), "message " + message.name, declared.entry->value);
  message.text = reader.text("text");
  message.from = draft.module(reader.placed_text("from"));
  message.every_ms = reader.number("every_ms");
  message.pgn = reader.identifier("pgn");
  message.id = reader.identifier("id");
  if (reader.has("pgn") && reader.has("id"))
    reader.error("two-ways", "id", reader.who() + " is told by its pgn and by its id",
                 "pgn for J1939, id for any other message: keep one of the two");
  read_listeners(draft, reader, message);
  read_message_bus(draft, reader, message);
  if (!message.pgn) return;
  if (const can::J1939Group* group = can::find_j1939_group(*message.pgn)) fill_from_group(*group, reader, message);
}

}  // namespace

void read_messages(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_message(draft, declared);
}

}  // namespace halfsplit::formats
