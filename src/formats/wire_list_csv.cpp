// SPDX-License-Identifier: Apache-2.0
#include "formats/wire_list_csv.h"

#include <optional>
#include <vector>

#include "base/number.h"
#include "circuit/part_kinds.h"
#include "formats/point_text.h"
#include "text/csv.h"

namespace halfsplit::formats {

namespace {

std::string number(const std::optional<double>& value) { return value ? base::format_number(*value) : ""; }

std::vector<std::string> wire_fields(const circuit::Loom& loom, const circuit::Wire& wire) {
  return {wire.name,
          format_end_point(loom, wire.from),
          format_end_point(loom, wire.to),
          wire.colour,
          number(wire.size_mm2),
          number(wire.length_m),
          number(wire.ohm),
          wire.bundle,
          wire.pair,
          wire.place.is_none() ? "" : loom.places.at(wire.place.index()).name,
          wire.hazard == circuit::Hazard::kNone ? "" : std::string(circuit::hazard_word(wire.hazard)),
          wire.rate == 1.0 ? "" : base::format_number(wire.rate),
          number(wire.repair_minutes),
          number(wire.part_money),
          wire.caution};
}

}  // namespace

std::string write_wire_list_csv(const circuit::Loom& loom) {
  std::string text = text::csv_row({"name", "from", "to", "colour", "size_mm2", "length_m", "ohm", "bundle", "pair",
                                    "place", "hazard", "rate", "repair_minutes", "part_money", "caution"});
  for (const circuit::Wire& wire : loom.wires) text += text::csv_row(wire_fields(loom, wire));
  return text;
}

}  // namespace halfsplit::formats
