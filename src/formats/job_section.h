// SPDX-License-Identifier: Apache-2.0
// One table of a job file being read: what TableReader offers, and texts of any length, lists of texts and times.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "formats/job_fields.h"
#include "formats/table_reader.h"

namespace halfsplit::formats {

class JobSection {
 public:
  JobSection(LoomReport& report, JobTable table, std::string who, const TomlValue& value);

  [[nodiscard]] bool has(std::string_view key) const { return reader_.has(key); }
  [[nodiscard]] const TomlValue* find(std::string_view key) const { return reader_.find(key); }
  [[nodiscard]] double number(std::string_view key) { return reader_.number(key); }
  [[nodiscard]] bool flag(std::string_view key) { return reader_.flag(key); }
  [[nodiscard]] std::string text(std::string_view key);               // a required one may not be empty
  [[nodiscard]] std::string time(std::string_view key);               // empty when the key is not there
  [[nodiscard]] int whole(std::string_view key);                      // 0 when it is missing or wrong
  [[nodiscard]] std::vector<PlacedText> texts(std::string_view key);  // none of them empty

  void error(std::string_view code, std::string_view key, std::string message, std::string hint = "");
  void unless_damaged(std::string_view code, std::string message, std::string hint);
  [[nodiscard]] const std::string& who() const { return reader_.who(); }

 private:
  // Says that the value is no `wanted`, with the key's help.
  void wrong_kind(std::string_view key, const TomlValue& value, std::string_view wanted);
  [[nodiscard]] std::string help(std::string_view key) const;

  TableReader reader_;
  const LoomTable& record_;
  const TomlValue& value_;
};

}  // namespace halfsplit::formats
