// SPDX-License-Identifier: Apache-2.0
// Walks the field tables. A number is a JSON number within its limits, or text with a unit, whose limits only the
// reader can check. Names are whatever the user calls things, so sections allow any key and fix what stands below it.
// Source: JSON Schema, draft 2020-12.
#include "formats/loom_schema.h"

#include <cmath>
#include <initializer_list>
#include <nlohmann/json.hpp>
#include <string_view>

#include "base/number.h"
#include "circuit/part_kinds.h"
#include "formats/loom_fields.h"
#include "formats/value_text.h"

namespace halfsplit::formats {

namespace {

using Json = nlohmann::ordered_json;

Json text_schema() { return {{"type", "string"}}; }
Json list_of(Json items) { return {{"type", "array"}, {"items", std::move(items)}}; }
Json definition(std::string_view name) { return {{"$ref", "#/$defs/" + std::string(name)}}; }
Json table_of(Json values) { return {{"type", "object"}, {"additionalProperties", std::move(values)}}; }
Json any_of(std::initializer_list<Json> choices) { return {{"anyOf", Json::array_t(choices)}}; }

Json words_schema(const LoomField& field) {
  Json words = Json::array();
  for (const std::string_view word : field.words) words.push_back(std::string(word));
  return Json{{"enum", std::move(words)}};
}

Json number_schema(const LoomField& field) {
  Json number{{"type", "number"}, {"minimum", field.low}, {"maximum", field.high}};
  return any_of({std::move(number), text_schema()});
}

Json whole_schema(const LoomField& field) {
  return {{"type", "integer"}, {"minimum", std::llround(field.low)}, {"maximum", std::llround(field.high)}};
}

Json sides_schema() {
  Json schema = list_of(text_schema());
  schema["minItems"] = 2;
  schema["maxItems"] = 2;
  schema["uniqueItems"] = true;
  return schema;
}

Json points_schema() {
  Json list = list_of(text_schema());
  list["minItems"] = 1;
  list["maxItems"] = 2;
  return any_of({text_schema(), std::move(list)});
}

Json identifier_schema(const LoomField& field) {
  return any_of({whole_schema(field), {{"type", "string"}, {"pattern", "^0[xX][0-9A-Fa-f]+$"}}});
}

Json curve_schema() {
  Json point = list_of({{"type", {"number", "string"}}});  // text: ohm with a unit
  point["minItems"] = 2;
  point["maxItems"] = 2;
  Json curve = list_of(std::move(point));
  curve["minItems"] = 2;
  return curve;
}

Json colour_schema() {
  std::string codes;
  for (const std::string_view code : colour_codes()) codes += (codes.empty() ? "" : "|") + std::string(code);
  return {{"type", "string"}, {"pattern", "^(" + codes + ")([/-](" + codes + ")){0,2}$"}};
}

Json role_schema() { return words_schema(*loom_table(TableKind::kPin).find("role")); }

Json pair_schema() {
  Json pair = list_of(text_schema());
  pair["minItems"] = 2;
  pair["maxItems"] = 2;
  return pair;
}

Json section_schema(std::string_view key) {
  if (key == "defaults") return definition("defaults");
  for (const LoomSection& section : loom_sections())
    if (section.key == key) return table_of(definition(loom_table(section.table).name));
  return table_of(true);
}

Json type_schema(const LoomField& field) {
  switch (field.type) {
    case FieldType::kNumber:
      return number_schema(field);
    case FieldType::kWhole:
      return whole_schema(field);
    case FieldType::kFlag:
      return {{"type", "boolean"}};
    case FieldType::kWord:
      return words_schema(field);
    case FieldType::kWords:
      return list_of(words_schema(field));
    case FieldType::kReferences:
    case FieldType::kPaths:
      return list_of(text_schema());
    case FieldType::kSides:
      return sides_schema();
    case FieldType::kSidePlaces:
      return any_of({text_schema(), table_of(text_schema())});
    case FieldType::kCavities:
      return any_of({text_schema(), list_of(text_schema())});
    case FieldType::kRows:
      return list_of(list_of(text_schema()));
    case FieldType::kColour:
      return colour_schema();
    case FieldType::kPinPair:
      return pair_schema();
    case FieldType::kCurve:
      return curve_schema();
    case FieldType::kSwitchStates:
      return table_of({{"enum", {"open", "closed"}}});
    case FieldType::kPlug:
      return any_of({{{"type", "boolean"}}, definition("plug")});
    case FieldType::kPlugs:
      return table_of(definition("plug"));
    case FieldType::kPins:
      return table_of(any_of({role_schema(), definition("pin")}));
    case FieldType::kInside:
      return list_of(definition("inside"));
    case FieldType::kSection:
      return section_schema(field.key);
    case FieldType::kRuns:
      return table_of(any_of({text_schema(), list_of(text_schema())}));
    case FieldType::kPoints:
      return points_schema();
    case FieldType::kIdentifier:
      return identifier_schema(field);
    case FieldType::kText:
    case FieldType::kName:
    case FieldType::kReference:
    case FieldType::kPoint:
    case FieldType::kPinName:
      return text_schema();
  }
  return true;
}

std::string description(const LoomField& field) {
  std::string text(field.help);
  const std::string_view unit = field.type != FieldType::kNumber ? ""
                                : field.unit_word.empty()        ? unit_name(field.unit)
                                                                 : field.unit_word;
  if (!unit.empty()) text += (text.empty() ? "" : "; ") + std::string(unit);
  for (std::size_t i = 0; i < field.only_for.size(); ++i)
    text += (i == 0 ? "; only for " : ", ") + std::string(field.only_for[i]);
  return text;
}

Json field_schema(const LoomField& field) {
  Json schema = type_schema(field);
  if (!schema.is_object()) return schema;
  if (const std::string text = description(field); !text.empty()) schema["description"] = text;
  if (field.type == FieldType::kFlag) schema["default"] = field.fallback != 0.0;
  if (field.type == FieldType::kNumber && std::isfinite(field.fallback)) schema["default"] = field.fallback;
  return schema;
}

// A closed table: these keys and no others. Keys of other roles or kinds are left out.
Json table_schema(const LoomTable& table, std::string_view owner) {
  Json properties = Json::object(), required = Json::array();
  for (const LoomField& field : table.fields) {
    bool fits = field.only_for.empty() || owner.empty();
    for (const std::string_view name : field.only_for) fits = fits || name == owner;
    if (!fits) continue;
    properties[std::string(field.key)] = field_schema(field);
    if (field.required) required.push_back(std::string(field.key));
  }
  Json schema{{"type", "object"}, {"description", std::string(table.help)}, {"properties", std::move(properties)}};
  if (!required.empty()) schema["required"] = std::move(required);
  schema["additionalProperties"] = false;
  return schema;
}

// A part is checked against the record of its kind.
Json part_schema() {
  Json choices = Json::array();
  for (const circuit::PartKindInfo& info : circuit::part_kinds()) {
    const std::string word(info.word);
    choices.push_back({{"if", {{"properties", {{"kind", {{"const", word}}}}}, {"required", {"kind"}}}},
                       {"then", definition("part-" + word)}});
  }
  Json kind = field_schema(*loom_table(TableKind::kPart).find("kind"));
  return {{"type", "object"},
          {"properties", {{"kind", std::move(kind)}}},
          {"required", {"kind"}},
          {"allOf", std::move(choices)}};
}

Json definitions() {
  Json defs = Json::object();
  for (const TableKind kind :
       {TableKind::kDefaults, TableKind::kPlace, TableKind::kSetup, TableKind::kConnector, TableKind::kSplice,
        TableKind::kStud, TableKind::kFrame, TableKind::kPlug, TableKind::kModule, TableKind::kPin, TableKind::kInside,
        TableKind::kWire, TableKind::kCode, TableKind::kLive, TableKind::kBus, TableKind::kMessage})
    defs[std::string(loom_table(kind).name)] = table_schema(loom_table(kind), "");
  defs["part"] = part_schema();
  for (const circuit::PartKindInfo& info : circuit::part_kinds())
    defs["part-" + std::string(info.word)] = table_schema(part_table(info.kind), info.word);
  return defs;
}

std::string limits_text(const circuit::PartField& field) {
  return base::format_number(field.low) + " to " + base::format_number(field.high);
}

std::string default_text(const circuit::PartField& field) {
  if (std::isnan(field.fallback)) return "required";
  return std::isinf(field.fallback) ? "worked out" : base::format_number(field.fallback);
}

std::string kind_markdown(const circuit::PartKindInfo& info) {
  std::string text = "### `" + std::string(info.word) + "`\n" + std::string(info.help) + ".\n\nTerminals";
  for (std::size_t i = 0; i < info.terminals.size(); ++i)
    text += (i == 0 ? " `" : ", `") + std::string(info.terminals[i]) + "`";
  text += std::string("; a plug by default: ") + (info.plug ? "yes" : "no") +
          "; `curve`: " + (info.curve_allowed ? "yes" : "no") + ".\n\n";
  text += "| key | unit | default | limits | meaning |\n| --- | --- | --- | --- | --- |\n";
  for (const circuit::PartField& field : info.fields)
    text += "| `" + std::string(field.name) + "` | " + std::string(field.unit) + " | " + default_text(field) + " | " +
            limits_text(field) + " | " + std::string(field.help) + " |\n";
  return text;
}

}  // namespace

std::string loom_schema() {
  Json schema{{"$schema", "https://json-schema.org/draft/2020-12/schema"}, {"title", "Halfsplit loom file, version 1"}};
  schema.update(table_schema(loom_table(TableKind::kTop), ""));
  schema["description"] = "docs/formats/loom.md tells the meaning; an included file may leave out loom and name";
  schema["$defs"] = definitions();
  return schema.dump(1) + "\n";
}

std::string part_kinds_markdown() {
  std::string text;
  for (const circuit::PartKindInfo& info : circuit::part_kinds())
    text += (text.empty() ? "" : "\n") + kind_markdown(info);
  return text;
}

}  // namespace halfsplit::formats
