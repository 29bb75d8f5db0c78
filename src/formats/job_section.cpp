// SPDX-License-Identifier: Apache-2.0
#include "formats/job_section.h"

#include <utility>

#include "base/check.h"
#include "formats/timestamp.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;

std::string tick(std::string_view key) { return "`" + std::string(key) + "`"; }

}  // namespace

JobSection::JobSection(LoomReport& report, JobTable table, std::string who, const TomlValue& value)
    : reader_(report, job_table(table), std::move(who), value), record_(job_table(table)), value_(value) {}

std::string JobSection::help(std::string_view key) const {
  const LoomField* field = record_.find(key);
  HS_CHECK(field != nullptr, "no record of the key " + std::string(key));
  return std::string(key) + ": " + std::string(field->help);
}

void JobSection::error(std::string_view code, std::string_view key, std::string message, std::string hint) {
  reader_.error(code, key, std::move(message), std::move(hint));
}

void JobSection::unless_damaged(std::string_view code, std::string message, std::string hint) {
  reader_.report().error_unless_damaged(code, value_.at, 1, std::move(message), std::move(hint));
}

void JobSection::wrong_kind(std::string_view key, const TomlValue& value, std::string_view wanted) {
  const bool quotes_missing = value.kind == Kind::kDate;
  reader_.report().error("bad-type", value.at, caret_length(value),
                         tick(key) + " of " + who() + " is " + std::string(wanted) + ", and here stands " +
                             std::string(kind_name(value.kind)),
                         quotes_missing ? "put it between quotes" : help(key));
}

std::string JobSection::text(std::string_view key) {
  const TomlValue* value = find(key);
  if (value == nullptr) return "";
  if (value->kind != Kind::kText)
    wrong_kind(key, *value, "text");
  else if (value->text.empty() && record_.find(key)->required)
    error("empty-text", key, tick(key) + " of " + who() + " is empty", help(key));
  return value->text;
}

std::string JobSection::time(std::string_view key) {
  std::string text = this->text(key);
  const TomlValue* value = find(key);
  if (value == nullptr || value->kind != Kind::kText || parse_timestamp(text)) return text;
  if (!text.empty() || !record_.find(key)->required)  // an empty one has been reported
    error("bad-time", key, "\"" + text::shorten(text, 40) + "\" is no time",
          "year, month, day, T, hours, minutes, seconds of UTC, and Z: \"2024-05-06T07:08:09Z\"");
  return text;
}

int JobSection::whole(std::string_view key) {
  const TomlValue* value = find(key);
  if (value == nullptr) return 0;
  if (value->kind == Kind::kWhole) return static_cast<int>(reader_.maybe_number(key).value_or(0.0));
  wrong_kind(key, *value, "a whole number");
  return 0;
}

std::vector<PlacedText> JobSection::texts(std::string_view key) {
  std::vector<PlacedText> texts;
  const TomlValue* value = find(key);
  if (value == nullptr) return texts;
  if (value->kind != Kind::kList) {
    wrong_kind(key, *value, "a list of texts: [\"...\"]");
    return texts;
  }
  for (const TomlValue& item : value->items) {
    if (item.kind != Kind::kText)
      wrong_kind(key, item, "a list of texts");
    else if (item.text.empty())
      reader_.report().error("empty-text", item.at, 2, "an empty text in " + tick(key) + " of " + who(), help(key));
    else
      texts.push_back({item.text, item.at});
  }
  return texts;
}

}  // namespace halfsplit::formats
