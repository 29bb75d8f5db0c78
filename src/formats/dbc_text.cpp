// SPDX-License-Identifier: Apache-2.0
// A DBC file is a list of statements, each begun by its keyword:
//   BO_ id name: bytes sender
//    SG_ name [M | m<value>[M]] : start|bits@order sign (factor,offset) [least|most] "unit" receivers
//   CM_ [BU_ name | BO_ id | SG_ id name] "text";      VAL_ id name value "word" ... ;
//   BA_ "attribute" [BU_ name | BO_ id | SG_ id name] value;    BA_DEF_, BA_DEF_DEF_: what attributes there are
//   SIG_VALTYPE_ id name : 1 | 2;     SG_MUL_VAL_ id name selector first-last, ...;     VAL_TABLE_ name value "word"
//   ... ;
// Bit 31 of an id marks 29 bits. The format has no published standard; this follows public grammars and files.
#include "formats/dbc_text.h"

#include <algorithm>

#include "can/j1939_id.h"
#include "formats/dbc_reader.h"

namespace halfsplit::formats {

namespace {

constexpr std::uint32_t kDbcExtendedBit = 0x80000000U;
constexpr std::size_t kDbcLongestMessage = 1785;

}  // namespace

void DbcReader::broken(std::string_view expected) {
  if (failed_) return;
  failed_ = true;
  notes_.add("dbc.broken-statement", "expected " + std::string(expected), "this statement is passed over",
             cursor_.last());
}

void DbcReader::unknown(std::string_view what) {
  notes_.add("dbc.unknown-name", "this is about " + std::string(what) + " that the file does not describe above",
             "this statement is passed over", statement_at_);
}

base::Result<DescriptionFile> DbcReader::run() {
  while (!cursor_.at_end()) statement();
  if (file_.descriptions.messages.empty()) {
    std::vector<base::Diagnostic> all = notes_.take();
    all.push_back(base::make_error("dbc.nothing-described", "no message is described in this file",
                                   "a DBC file has lines like: BO_ 2566844926 EEC1: 8 Engine"));
    return all;
  }
  finish();
  return {std::move(file_), notes_.take()};
}

void DbcReader::statement() {
  failed_ = false;
  (void)cursor_.at_end();  // over blanks
  statement_at_ = cursor_.at();
  const std::string_view keyword = cursor_.word();
  if (!DbcCursor::is_keyword(keyword)) {
    broken("a statement such as BO_, SG_, VAL_");
    return cursor_.skip_to_statement();
  }
  if (!known_statement(keyword)) {
    ++file_.passed_over;
    if (keyword == "BS_" || keyword == "BU_") return cursor_.skip_to_statement();  // these end with their line
    return cursor_.skip_statement();
  }
  if (failed_) cursor_.skip_to_statement();
}

bool DbcReader::known_statement(std::string_view keyword) {
  struct Statement {
    std::string_view keyword;
    void (DbcReader::*read)();
  };
  static constexpr Statement kStatements[] = {
      {"NS_", &DbcReader::new_symbols},
      {"BO_", &DbcReader::message},
      {"SG_", &DbcReader::signal},
      {"CM_", &DbcReader::remark},
      {"VAL_", &DbcReader::words},
      {"VAL_TABLE_", &DbcReader::word_table},
      {"BA_", &DbcReader::attribute},
      {"BA_DEF_", &DbcReader::attribute_definition},
      {"BA_DEF_DEF_", &DbcReader::attribute_default},
      {"SIG_VALTYPE_", &DbcReader::number_kind},
      {"SG_MUL_VAL_", &DbcReader::selected_values},
      {"BO_TX_BU_", &DbcReader::senders},
  };
  for (const Statement& known : kStatements) {
    if (known.keyword != keyword) continue;
    (this->*known.read)();
    return true;
  }
  return false;
}

// The list of keywords that newer files may use: those very keywords, so it ends at the first that is never in it.
void DbcReader::new_symbols() {
  (void)cursor_.mark(':');
  for (std::string_view next = cursor_.peek(); !next.empty(); next = cursor_.peek()) {
    if (next == "BS_" || next == "BU_" || next == "BO_" || next == "VERSION") return;
    (void)cursor_.word();
  }
}

void DbcReader::message() {
  current_ = nullptr;
  const std::optional<std::uint64_t> id = cursor_.whole();
  if (!id || *id > 0xFFFFFFFFU) return broken("the number of a message");
  const std::string name(cursor_.word());
  if (name.empty() || !cursor_.mark(':')) return broken("a name and \":\"");
  const std::optional<std::uint64_t> length = cursor_.whole();
  if (!length) return broken("how many bytes the message has");
  const std::string_view sender = DbcCursor::is_keyword(cursor_.peek()) ? std::string_view() : cursor_.word();
  current_id_ = static_cast<std::uint32_t>(*id);
  if (current_id_ == kDbcLooseSignals) {
    ++file_.passed_over;
    return;
  }
  if (messages_.contains(current_id_)) {
    notes_.add("dbc.twice-described", "message " + std::to_string(*id) + " is described a second time",
               "the first one counts; its signals are those of both", statement_at_);
    current_ = find_message(current_id_);
    return;
  }
  can::Message message;
  message.extended = (current_id_ & kDbcExtendedBit) != 0 || current_id_ > can::kLargestStandardId;
  message.id = current_id_ & can::kLargestExtendedId;
  message.name = name;
  message.length = static_cast<std::uint16_t>(std::min<std::uint64_t>(*length, kDbcLongestMessage));
  if (!sender.empty() && sender != "Vector__XXX") message.senders.emplace_back(sender);
  messages_[current_id_] = file_.descriptions.messages.size();
  file_.descriptions.messages.push_back(std::move(message));
  current_ = &file_.descriptions.messages.back();
}

void DbcReader::signal() {
  can::Signal signal;
  signal.name = cursor_.word();
  if (signal.name.empty()) return broken("the name of a signal");
  const std::string_view mark = cursor_.word();
  if (!cursor_.mark(':')) return broken("\":\" behind the name");
  selection(signal, mark);
  if (failed_ || !signal_place(signal) || !signal_scale(signal)) return;
  while (!DbcCursor::is_keyword(cursor_.peek()) && (!cursor_.word().empty() || cursor_.mark(','))) {
  }
  if (current_ == nullptr) {
    ++file_.passed_over;  // of no message, or of one that could not be read
    return;
  }
  keep(std::move(signal));
}

void DbcReader::selection(can::Signal& signal, std::string_view mark) {
  if (mark.empty()) return;
  std::string_view rest = mark;
  if (rest.front() == 'm') {
    rest.remove_prefix(1);
    const std::size_t digits = std::min(rest.find_first_not_of("0123456789"), rest.size());
    std::uint64_t value = 0;
    for (const char digit : rest.substr(0, std::min<std::size_t>(digits, 18))) {
      value = value * 10 + static_cast<std::uint64_t>(digit - '0');
    }
    if (digits == 0) return broken("a number behind \"m\"");
    signal.selected = can::Selected{{}, {{value, value}}};
    rest.remove_prefix(digits);
  }
  if (rest == "M") {
    signal.selector = true;
  } else if (!rest.empty()) {
    broken("\"M\" or \"m\" and a number before \":\"");
  }
}

bool DbcReader::signal_place(can::Signal& signal) {
  const std::optional<std::uint64_t> start = cursor_.whole();
  const bool bar = start && cursor_.mark('|');
  const std::optional<std::uint64_t> length = bar ? cursor_.whole() : std::nullopt;
  const bool at = length && cursor_.mark('@');
  const std::string_view order = at ? cursor_.word() : std::string_view();
  if (order.size() != 2 || (order[0] != '0' && order[0] != '1') || (order[1] != '+' && order[1] != '-') ||
      *start > 0xFFFF || *length > 0xFFFF) {
    broken("a place like 24|16@1+");
    return false;
  }
  signal.start_bit = static_cast<std::uint16_t>(*start);
  signal.length_bits = static_cast<std::uint16_t>(*length);
  signal.order = order[0] == '1' ? can::ByteOrder::kLowestFirst : can::ByteOrder::kHighestFirst;
  signal.number = order[1] == '-' ? can::NumberKind::kSigned : can::NumberKind::kUnsigned;
  return true;
}

bool DbcReader::signal_scale(can::Signal& signal) {
  const std::optional<double> factor = cursor_.mark('(') ? cursor_.number() : std::nullopt;
  const std::optional<double> offset = factor && cursor_.mark(',') ? cursor_.number() : std::nullopt;
  if (!offset || !cursor_.mark(')')) {
    broken("factor and offset like (0.125,0)");
    return false;
  }
  signal.factor = *factor;
  signal.offset = *offset;
  if (cursor_.mark('[')) {
    const std::optional<double> least = cursor_.number();
    const std::optional<double> most = cursor_.mark('|') ? cursor_.number() : std::nullopt;
    if (!least || !most || !cursor_.mark(']')) {
      broken("least and most like [0|250]");
      return false;
    }
    if (*least != *most) {  // [0|0] says nothing
      signal.least = least;
      signal.most = most;
    }
  }
  const std::optional<std::string> unit = cursor_.string();
  if (!unit) broken("a unit between quotes");
  signal.unit = unit.value_or("");
  return unit.has_value();
}

void DbcReader::keep(can::Signal signal) {
  const std::string why = impossible_signal(signal, 0);
  if (!why.empty()) {
    return notes_.add("dbc.impossible-signal", "signal " + signal.name + " cannot be: " + why,
                      "this signal is passed over", statement_at_);
  }
  const DbcSignalKey key(current_id_, signal.name);
  if (signals_.contains(key)) {
    return notes_.add("dbc.twice-described", "signal " + signal.name + " is described a second time",
                      "the first one counts", statement_at_);
  }
  signals_[key] = {messages_[current_id_], current_->signals.size()};
  current_->signals.push_back(std::move(signal));
}

can::Message* DbcReader::find_message(std::uint32_t id) {
  const auto found = messages_.find(id);
  return found != messages_.end() ? &file_.descriptions.messages[found->second] : nullptr;
}

can::Signal* DbcReader::find_signal(const DbcSignalKey& key) {
  const auto found = signals_.find(key);
  if (found == signals_.end()) return nullptr;
  return &file_.descriptions.messages[found->second.message].signals[found->second.signal];
}

void DbcReader::finish() {
  for (const auto& [id, at] : messages_) {
    can::Message& message = file_.descriptions.messages[at];
    const auto said = by_group_.find(id);
    // Nobody sends from the null address: an identifier with it stands for its group (common practice).
    const bool for_all = can::j1939_source(message.id) == can::kNullAddress;
    const bool by_default = default_frame_format_.empty() ? j1939_ : is_j1939_format(default_frame_format_);
    message.by_group = message.extended && (said != by_group_.end() ? said->second : by_default || for_all);
    finish_message(message);
  }
}

void DbcReader::finish_message(can::Message& message) {
  const auto selector = std::find_if(message.signals.begin(), message.signals.end(),
                                     [](const can::Signal& signal) { return signal.selector; });
  const std::optional<double> every = description_number(cycle_time_default_);
  if (!message.every_ms && every && *every > 0) message.every_ms = every;
  for (can::Signal& signal : message.signals) {
    tidy_words(signal);
    if (signal.selected && signal.selected->by.empty()) {
      if (selector == message.signals.end() || &*selector == &signal) {
        signal.selected.reset();  // nothing says when it is there
      } else {
        signal.selected->by = selector->name;
      }
    }
  }
}

base::Result<DescriptionFile> read_dbc_text(std::string_view name, std::string_view text) {
  const text::Source source{std::string(name), description_utf8(text)};
  return DbcReader(source).run();
}

}  // namespace halfsplit::formats
