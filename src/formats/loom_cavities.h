// SPDX-License-Identifier: Apache-2.0
// What inline connectors and the plugs of parts and modules have in common: cavities, minutes, contacts.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "circuit/loom.h"
#include "formats/loom_draft.h"
#include "formats/table_reader.h"

namespace halfsplit::formats {

using Rows = std::vector<std::vector<std::string>>;

// `pins` or `rows`; none when neither is given or what is given is wrong.
[[nodiscard]] std::optional<Rows> read_rows(LoomDraft& draft, TableReader& reader);

// unplug, plug, backprobe, contact_ohm.
void read_plug_manners(TableReader& reader, circuit::Connector& connector);

// A plug of a part or module: sides "loom" and "unit", everything else at its default.
[[nodiscard]] circuit::Connector make_plug(std::string name, circuit::PlaceId place, circuit::Hazard hazard,
                                           const std::string& caution, const base::Span& where);

// Cavities that were found by use, in natural order, as one row behind those listed.
void sort_cavities(std::vector<std::string>& names);

}  // namespace halfsplit::formats
