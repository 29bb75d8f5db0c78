// SPDX-License-Identifier: Apache-2.0
// Remarks, words, attributes and the rest that DBC says about messages and signals after describing them.
#include <algorithm>

#include "formats/dbc_reader.h"

namespace halfsplit::formats {

void DbcReader::remark() {
  const std::string_view about = cursor_.peek();
  if (about == "BO_" || about == "SG_") {
    (void)cursor_.word();
    const auto id = static_cast<std::uint32_t>(cursor_.whole().value_or(0));
    const std::string name(about == "SG_" ? cursor_.word() : std::string_view());
    const std::optional<std::string> text = cursor_.string();
    if (!text) return broken("a remark between quotes");
    can::Message* message = find_message(id);
    can::Signal* signal = find_signal({id, name});
    if (about == "SG_" && signal != nullptr) signal->remark = *text;
    if (about == "BO_" && message != nullptr) message->remark = *text;
  } else {
    ++file_.passed_over;
  }
  cursor_.skip_statement();
}

bool DbcReader::read_words(DbcWords& into) {
  while (!cursor_.mark(';')) {
    if (DbcCursor::is_keyword(cursor_.peek())) return true;  // the ";" was forgotten
    const std::optional<double> value = cursor_.number();
    const std::optional<std::string> text = value ? cursor_.string() : std::nullopt;
    if (!text || *value < -9.2e18 || *value > 9.2e18) {
      broken("a value and its word between quotes, then \";\"");
      return false;
    }
    into.emplace_back(static_cast<std::int64_t>(*value), *text);
  }
  return true;
}

void DbcReader::words() {
  const std::string first(cursor_.word());
  const std::optional<double> id = description_number(first);
  if (!id) {  // of an environment variable
    ++file_.passed_over;
    return cursor_.skip_statement();
  }
  const DbcSignalKey key(static_cast<std::uint32_t>(std::min(std::max(*id, 0.0), 4294967295.0)), cursor_.word());
  can::Signal* signal = find_signal(key);
  const auto table = tables_.find(std::string(cursor_.peek()));
  DbcWords words;
  if (table != tables_.end()) {
    words = table->second;
    cursor_.skip_statement();
  } else if (!read_words(words)) {
    return;
  }
  if (signal != nullptr) {
    signal->words.insert(signal->words.end(), words.begin(), words.end());
  } else if (key.first != kDbcLooseSignals) {
    unknown("a signal " + key.second);
  }
}

void DbcReader::word_table() {
  const std::string name(cursor_.word());
  DbcWords words;
  if (read_words(words)) tables_[name] = std::move(words);
}

void DbcReader::number_kind() {
  const auto id = static_cast<std::uint32_t>(cursor_.whole().value_or(0));
  const std::string name(cursor_.word());
  (void)cursor_.mark(':');
  const std::optional<std::uint64_t> kind = cursor_.whole();
  if (!kind) return broken("1 (32 bits) or 2 (64 bits) for a floating number");
  can::Signal* signal = find_signal({id, name});
  if (signal == nullptr) {
    unknown("a signal " + name);
  } else if (*kind == 1 || *kind == 2) {
    signal->number = can::NumberKind::kFloat;
    const std::string why = impossible_signal(*signal, 0);
    if (!why.empty()) {
      signal->number = can::NumberKind::kUnsigned;
      notes_.add("dbc.impossible-signal", "signal " + name + " cannot be: " + why, "it is read as a whole number",
                 statement_at_);
    }
  }
  cursor_.skip_statement();
}

void DbcReader::selected_values() {
  const auto id = static_cast<std::uint32_t>(cursor_.whole().value_or(0));
  const std::string name(cursor_.word());
  can::Selected selected;
  selected.by = cursor_.word();
  do {
    const std::string range(cursor_.word());
    const std::size_t dash = range.find('-');
    const std::optional<double> first = description_number(std::string_view(range).substr(0, dash));
    const std::optional<double> last =
        dash != std::string::npos ? description_number(std::string_view(range).substr(dash + 1)) : std::nullopt;
    if (!first || !last || *first < 0 || *last < *first || *last > 9.2e18) return broken("values like 3-5");
    selected.values.emplace_back(static_cast<std::uint64_t>(*first), static_cast<std::uint64_t>(*last));
  } while (cursor_.mark(','));
  can::Signal* signal = find_signal({id, name});
  if (signal == nullptr || find_signal({id, selected.by}) == nullptr) {
    unknown("signals " + name + " and " + selected.by);
  } else {
    signal->selected = std::move(selected);
  }
  cursor_.skip_statement();
}

void DbcReader::senders() {
  can::Message* message = find_message(static_cast<std::uint32_t>(cursor_.whole().value_or(0)));
  (void)cursor_.mark(':');
  while (!cursor_.mark(';')) {
    const std::string sender(cursor_.word());
    if (sender.empty() && !cursor_.mark(',')) return broken("names of nodes, then \";\"");
    if (message == nullptr || sender.empty() || sender == "Vector__XXX") continue;
    auto& all = message->senders;
    if (std::find(all.begin(), all.end(), sender) == all.end()) all.push_back(sender);
  }
}

std::string DbcReader::attribute_value() {
  if (const std::optional<std::string> text = cursor_.string()) return *text;
  return std::string(cursor_.word());
}

void DbcReader::attribute() {
  const std::optional<std::string> name = cursor_.string();
  if (!name) return broken("the name of an attribute between quotes");
  const std::string_view about = cursor_.peek();
  if (about == "BO_" || about == "SG_") {
    (void)cursor_.word();
    const auto id = static_cast<std::uint32_t>(cursor_.whole().value_or(0));
    const DbcSignalKey key(id, about == "SG_" ? cursor_.word() : std::string_view());
    const std::string value = attribute_value();
    can::Message* message = find_message(id);
    if (about == "SG_") {
      signal_attribute(key, *name, value);
    } else if (message != nullptr) {
      message_attribute(*message, *name, value);
      if (*name == "VFrameFormat") by_group_[id] = is_j1939_format(value);
    }
  } else if (*name == "ProtocolType" && !DbcCursor::is_keyword(about)) {
    j1939_ = attribute_value() == "J1939";
  } else {
    ++file_.passed_over;
  }
  cursor_.skip_statement();
}

// The value as its word or as its number in the list.
bool DbcReader::is_j1939_format(const std::string& value) const {
  if (value == "J1939PG") return true;
  const std::optional<double> number = description_number(value);
  if (!number || *number < 0 || *number >= static_cast<double>(frame_formats_.size())) return false;
  return frame_formats_[static_cast<std::size_t>(*number)] == "J1939PG";
}

void DbcReader::message_attribute(can::Message& message, const std::string& name, const std::string& value) {
  if (name == "GenMsgCycleTime") {
    const std::optional<double> every = description_number(value);
    if (every && *every > 0) message.every_ms = every;
  } else if (name == "SystemMessageLongSymbol" && !value.empty()) {
    message.name = value;
  } else if (name != "VFrameFormat") {
    ++file_.passed_over;
  }
}

void DbcReader::signal_attribute(const DbcSignalKey& key, const std::string& name, const std::string& value) {
  can::Signal* signal = find_signal(key);
  if (signal == nullptr) return;
  const std::optional<double> number = description_number(value);
  if (name == "SPN" && number && *number > 0 && *number < 524288) {
    signal->spn = static_cast<std::uint32_t>(*number);
  } else if (name == "SystemSignalLongSymbol" && !value.empty()) {
    for (can::Signal& other : find_message(key.first)->signals) {
      if (other.selected && other.selected->by == signal->name) other.selected->by = value;
    }
    signal->name = value;  // signals_ keeps the short one, by which later statements call it
  } else {
    ++file_.passed_over;
  }
}

void DbcReader::attribute_definition() {
  for (const std::string_view about : {"BO_", "SG_", "BU_", "EV_"}) {
    if (cursor_.peek() == about) (void)cursor_.word();
  }
  const std::optional<std::string> name = cursor_.string();
  if (!name) return broken("the name of an attribute between quotes");
  if (*name == "VFrameFormat" && cursor_.word() == "ENUM") {
    frame_formats_.clear();
    while (const std::optional<std::string> value = cursor_.string()) {
      frame_formats_.push_back(*value);
      (void)cursor_.mark(',');
    }
  }
  cursor_.skip_statement();
}

void DbcReader::attribute_default() {
  const std::optional<std::string> name = cursor_.string();
  if (!name) return broken("the name of an attribute between quotes");
  if (*name == "VFrameFormat") default_frame_format_ = attribute_value();
  if (*name == "ProtocolType") j1939_ = attribute_value() == "J1939";
  if (*name == "GenMsgCycleTime") cycle_time_default_ = attribute_value();
  cursor_.skip_statement();
}

}  // namespace halfsplit::formats
