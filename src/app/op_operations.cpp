// SPDX-License-Identifier: Apache-2.0
// The table itself, for programs that are made from it: the page's types, a door of somebody else's.
#include "app/ops.h"
#include "app/words.h"

namespace halfsplit::app {

namespace {

std::string_view field_kind_name(Field::Kind kind) {
  switch (kind) {
    case Field::Kind::kPositional:
      return "positional";
    case Field::Kind::kRest:
      return "rest";
    case Field::Kind::kOption:
      return "option";
    case Field::Kind::kList:
      return "list";
    case Field::Kind::kFlag:
      return "flag";
  }
  return "";
}

Json field_json(const Field& field) {
  Json json;
  json["name"] = field.name;
  json["kind"] = field_kind_name(field.kind);
  json["required"] = field.required;
  json["help"] = field.help;
  return json;
}

}  // namespace

Reply op_operations(Context&, const Arguments&) {
  Reply reply;
  Json list = Json::array();
  for (const Operation& operation : operations()) {
    Json json;
    json["name"] = operation.name;
    json["summary"] = operation.summary;
    json["example"] = operation.example;
    json["only_reads"] = operation.only_reads;
    json["fields"] = Json::array();
    for (const Field& field : operation.fields) json["fields"].push_back(field_json(field));
    list.push_back(std::move(json));
    reply.text += padded(std::string(operation.name), 12) + std::string(operation.summary) + "\n";
  }
  reply.result["operations"] = std::move(list);
  return reply;
}

}  // namespace halfsplit::app
