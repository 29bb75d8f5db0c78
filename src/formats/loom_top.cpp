// SPDX-License-Identifier: Apache-2.0
// What stands above the tables, and [defaults]. Of several files, the one the user named has the last word; among the
// included ones, the one read last.
#include <optional>
#include <string>
#include <utility>

#include "formats/loom_sections.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;

// The included files may leave out `loom` and `name`; for them nothing is required.
LoomTable included_table() {
  LoomTable table = loom_table(TableKind::kTop);
  for (LoomField& field : table.fields) field.required = false;
  return table;
}

void read_defaults(LoomDraft& draft, const TomlValue& value) {
  circuit::Defaults& defaults = draft.loom.defaults;
  TableReader reader(draft.report, loom_table(TableKind::kDefaults), "[defaults]", value);
  const std::pair<std::string_view, double*> fields[] = {{"contact_ohm", &defaults.contact_ohm},
                                                         {"stud_ohm", &defaults.stud_ohm},
                                                         {"splice_ohm", &defaults.splice_ohm},
                                                         {"wire_size_mm2", &defaults.wire_size_mm2},
                                                         {"wire_length_m", &defaults.wire_length_m},
                                                         {"input_ohm", &defaults.input_ohm},
                                                         {"off_ohm", &defaults.off_ohm},
                                                         {"return_ohm", &defaults.return_ohm},
                                                         {"driver_ohm", &defaults.driver_ohm},
                                                         {"reference_ohm", &defaults.reference_ohm},
                                                         {"can_input_ohm", &defaults.can_input_ohm}};
  for (const auto& [key, field] : fields)
    if (const std::optional<double> given = reader.maybe_number(key)) *field = *given;
}

void read_file(LoomDraft& draft, const LoomFile& file, const LoomTable& table) {
  circuit::Loom& loom = draft.loom;
  TableReader reader(draft.report, table, file.file == 0 ? "this loom" : "this included loom", file.root);
  if (reader.has("name")) loom.name = reader.text("name");
  if (reader.has("vehicle")) loom.vehicle = reader.text("vehicle");
  if (reader.has("note")) loom.note = reader.text("note");
  if (const circuit::Hazard hazard = read_hazard(reader); hazard != circuit::Hazard::kNone) loom.hazard = hazard;
  if (const std::optional<double> volts = reader.maybe_number("system_volts")) loom.system_volts = *volts;
  if (const std::optional<double> degrees = reader.maybe_number("ambient_c")) loom.ambient_c = *degrees;
  if (const TomlValue* defaults = reader.find("defaults")) read_defaults(draft, *defaults);
}

// The last file that says it.
const TomlEntry* find_last(const std::vector<LoomFile>& files, std::string_view key) {
  const TomlEntry* found = nullptr;
  for (const LoomFile& file : files)
    if (const TomlEntry* entry = file.root.find(key)) found = entry;
  return found;
}

void read_in_use(LoomDraft& draft, const TomlValue& value) {
  std::vector<PlacedText> names;
  bool texts = value.kind == Kind::kList;
  for (const TomlValue& item : value.items) {
    texts = texts && item.kind == Kind::kText;
    names.push_back({item.text, item.at});
  }
  if (texts)
    draft.loom.in_use = draft.setups(names);
  else
    draft.report.error("bad-type", value.at, 1, "in_use is a list of setup names", "write in_use = [\"key-on\"]");
}

void read_supply(LoomDraft& draft, const TomlValue& value) {
  if (value.kind != Kind::kText)
    return draft.report.error("bad-type", value.at, 1, "supply is the name of a battery", "write supply = \"B1\"");
  const PlacedText name{value.text, value.at};
  draft.loom.supply = draft.part(name);
  if (draft.loom.supply.is_none()) return;
  const circuit::Part& part = draft.loom.parts[draft.loom.supply.index()];
  if (part.kind != circuit::PartKind::kBattery && !draft.is_flawed(part.name))
    draft.report.error("wrong-kind", value.at, caret_length(value), part.name + " is no battery",
                       "supply names a part of kind \"battery\"");
}

}  // namespace

void read_top(LoomDraft& draft, const std::vector<LoomFile>& files) {
  const LoomTable included = included_table();
  for (const LoomFile& file : files) read_file(draft, file, file.file == 0 ? loom_table(TableKind::kTop) : included);
}

void read_in_use_and_supply(LoomDraft& draft, const std::vector<LoomFile>& files) {
  if (const TomlEntry* in_use = find_last(files, "in_use")) read_in_use(draft, in_use->value);
  if (const TomlEntry* supply = find_last(files, "supply")) return read_supply(draft, supply->value);
  for (std::size_t i = 0; i < draft.loom.parts.size() && draft.loom.supply.is_none(); ++i)
    if (draft.loom.parts[i].kind == circuit::PartKind::kBattery) draft.loom.supply = circuit::PartId(i);
}

}  // namespace halfsplit::formats
