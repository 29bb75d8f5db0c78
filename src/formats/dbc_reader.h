// SPDX-License-Identifier: Apache-2.0
// Inside dbc_text.h: the reader of one DBC text, statement by statement. dbc_text.cpp has messages and signals,
// dbc_statements.cpp what is said about them afterwards.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "formats/dbc_cursor.h"
#include "formats/description_file.h"
#include "text/source.h"

namespace halfsplit::formats {

constexpr std::uint32_t kDbcLooseSignals = 0xC0000000U;  // a message that is none: it keeps signals of no message

using DbcWords = std::vector<std::pair<std::int64_t, std::string>>;
using DbcSignalKey = std::pair<std::uint32_t, std::string>;

class DbcReader {
 public:
  explicit DbcReader(const text::Source& source) : cursor_(source.text()), notes_(source) {}
  base::Result<DescriptionFile> run();

 private:
  struct Place {
    std::size_t message, signal;
  };

  void statement();
  bool known_statement(std::string_view keyword);
  void new_symbols();
  void message();
  void signal();
  bool signal_place(can::Signal& signal);
  bool signal_scale(can::Signal& signal);
  void selection(can::Signal& signal, std::string_view mark);
  void keep(can::Signal signal);
  void remark();
  void words();
  void word_table();
  bool read_words(DbcWords& into);
  void number_kind();
  void selected_values();
  void senders();
  void attribute();
  void attribute_definition();
  void attribute_default();
  void message_attribute(can::Message& message, const std::string& name, const std::string& value);
  void signal_attribute(const DbcSignalKey& key, const std::string& name, const std::string& value);
  std::string attribute_value();

  can::Message* find_message(std::uint32_t id);
  can::Signal* find_signal(const DbcSignalKey& key);
  [[nodiscard]] bool is_j1939_format(const std::string& value) const;
  void broken(std::string_view expected);
  void unknown(std::string_view what);
  void finish();
  void finish_message(can::Message& message);

  DbcCursor cursor_;
  DescriptionNotes notes_;
  DescriptionFile file_;
  std::size_t statement_at_ = 0;
  bool failed_ = false;  // the statement under way
  std::map<std::uint32_t, std::size_t> messages_;
  std::map<DbcSignalKey, Place> signals_;
  std::map<std::string, DbcWords> tables_;
  std::vector<std::string> frame_formats_;  // names of the values of VFrameFormat
  std::string default_frame_format_;
  std::map<std::uint32_t, bool> by_group_;  // where VFrameFormat is said
  bool j1939_ = false;                      // the file says so of itself
  std::string cycle_time_default_;
  can::Message* current_ = nullptr;
  std::uint32_t current_id_ = 0;
};

}  // namespace halfsplit::formats
