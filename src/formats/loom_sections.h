// SPDX-License-Identifier: Apache-2.0
// One reader for each section of the file. Each fills the values whose names and ids the draft already holds.
#pragma once

#include <vector>

#include "formats/loom_draft.h"
#include "formats/loom_files.h"

namespace halfsplit::formats {

using Entries = std::vector<Declared>;

// What stands above all tables, and [defaults]. The file the user named has the last word.
void read_top(LoomDraft& draft, const std::vector<LoomFile>& files);
void read_in_use_and_supply(LoomDraft& draft, const std::vector<LoomFile>& files);  // once parts and setups are known

void read_places(LoomDraft& draft, const Entries& entries);
void read_setups(LoomDraft& draft, const Entries& entries);  // once the kinds of parts are known
void read_connectors(LoomDraft& draft, const Entries& entries);
void read_splices(LoomDraft& draft, const Entries& entries);
void read_studs(LoomDraft& draft, const Entries& entries);
void read_frames(LoomDraft& draft, const Entries& entries);
void read_parts(LoomDraft& draft, const Entries& entries);
void read_buses(LoomDraft& draft, const Entries& entries);  // but for `reader`
void read_modules(LoomDraft& draft, const Entries& entries);

// Wires and runs together: they give connectors without a list their cavities, and modules that say nothing of
// themselves their pins.
void read_wires(LoomDraft& draft, const Entries& wires, const std::vector<const TomlEntry*>& runs);

void read_bus_readers(LoomDraft& draft, const Entries& buses);  // once all cavities are known
void read_messages(LoomDraft& draft, const Entries& entries);   // once it is known who sits on which bus
void read_codes(LoomDraft& draft, const Entries& entries);
void read_lives(LoomDraft& draft, const Entries& entries);

}  // namespace halfsplit::formats
