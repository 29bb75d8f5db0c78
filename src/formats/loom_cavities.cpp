// SPDX-License-Identifier: Apache-2.0
#include "formats/loom_cavities.h"

#include <algorithm>
#include <unordered_set>
#include <utility>
#include <variant>

#include "text/natural_order.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;

// A list of cavity names; false when something in it is wrong.
bool read_row(TableReader& reader, const TomlValue& list, std::unordered_set<std::string>& known,
              std::vector<std::string>& row) {
  bool sound = true;
  const auto refuse = [&](const TomlValue& item, std::string_view code, std::string message, std::string hint) {
    reader.report().error(code, item.at, caret_length(item), std::move(message), std::move(hint));
    sound = false;
  };
  for (const TomlValue& item : list.items) {
    if (item.kind != Kind::kText) {
      refuse(item, "bad-pins",
             "a cavity of " + reader.who() + " is text, and here stands " + std::string(kind_name(item.kind)),
             "write it between quotes: \"1\"");
      continue;
    }
    if (const std::optional<TextProblem> bad = check_name(item.text, true))
      refuse(item, "bad-pins", bad->message, bad->hint);
    else if (!known.insert(item.text).second)
      refuse(item, "duplicate-cavity", "cavity " + item.text + " of " + reader.who() + " is listed twice",
             "each cavity once");
    else
      row.push_back(item.text);
  }
  return sound;
}

std::optional<Rows> read_pins(TableReader& reader, const TomlValue& value) {
  if (value.kind == Kind::kText) {
    Parsed<std::vector<std::string>> parsed = parse_cavities(value.text);
    if (const auto* bad = std::get_if<TextProblem>(&parsed)) return reader.problem(value, *bad), std::nullopt;
    return Rows{std::get<std::vector<std::string>>(std::move(parsed))};
  }
  std::unordered_set<std::string> known;
  Rows rows(1);
  if (value.kind == Kind::kList) {
    if (!read_row(reader, value, known, rows.front())) return std::nullopt;
    if (!rows.front().empty()) return rows;
  }
  reader.error("bad-pins", "pins", "pins of " + reader.who() + " names no cavities",
               "write \"1-24\", \"1,2,5-8\" or a list of names");
  return std::nullopt;
}

std::optional<Rows> read_row_list(TableReader& reader, const TomlValue& value) {
  bool lists = value.kind == Kind::kList && !value.items.empty();
  for (const TomlValue& item : value.items) lists = lists && item.kind == Kind::kList && !item.items.empty();
  if (!lists) {
    reader.error("bad-pins", "rows", "rows of " + reader.who() + " is a list of lists of cavity names",
                 "write [[\"1\", \"2\"], [\"3\", \"4\"]]");
    return std::nullopt;
  }
  std::unordered_set<std::string> known;
  Rows rows(value.items.size());
  bool sound = true;
  for (std::size_t i = 0; i < rows.size(); ++i) sound = read_row(reader, value.items[i], known, rows[i]) && sound;
  return sound ? std::optional(std::move(rows)) : std::nullopt;
}

}  // namespace

std::optional<Rows> read_rows(LoomDraft& draft, TableReader& reader) {
  const TomlValue* pins = reader.find("pins");
  const TomlValue* rows = reader.find("rows");
  if (pins != nullptr && rows != nullptr)
    reader.error("two-ways", "pins", reader.who() + " has both pins and rows", "keep rows: they also tell neighbours");
  std::optional<Rows> read;
  if (rows != nullptr)
    read = read_row_list(reader, *rows);
  else if (pins != nullptr)
    read = read_pins(reader, *pins);
  if (!read) return read;
  std::size_t count = 0;
  for (const auto& row : *read) count += row.size();
  const std::string_view key = rows != nullptr ? "rows" : "pins";
  if (count > kMostCavities) {
    reader.error("bad-pins", key, reader.who() + " has more than 2,000 cavities", "look for a slip in the list");
    return std::nullopt;
  }
  return draft.count_items(count, reader.at(key)) ? read : std::nullopt;
}

void read_plug_manners(TableReader& reader, circuit::Connector& connector) {
  connector.unplug_minutes = reader.number("unplug");
  connector.plug_minutes = reader.number("plug");
  connector.backprobe = reader.flag("backprobe");
  connector.contact_ohm = reader.maybe_number("contact_ohm");
}

circuit::Connector make_plug(std::string name, circuit::PlaceId place, circuit::Hazard hazard,
                             const std::string& caution, const base::Span& where) {
  circuit::Connector connector;
  connector.name = std::move(name);
  connector.sides[0] = "loom";
  connector.sides[1] = "unit";
  connector.place[0] = connector.place[1] = place;
  connector.hazard = hazard;
  connector.caution = caution;
  connector.where = where;
  return connector;
}

void sort_cavities(std::vector<std::string>& names) { std::sort(names.begin(), names.end(), text::natural_less); }

}  // namespace halfsplit::formats
