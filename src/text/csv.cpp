// SPDX-License-Identifier: Apache-2.0
#include "text/csv.h"

namespace halfsplit::text {

namespace {

std::string csv_field(const std::string& field) {
  if (field.find_first_of(",\"\r\n") == std::string::npos) return field;
  std::string quoted = "\"";
  for (const char c : field) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + '"';
}

}  // namespace

std::string csv_row(const std::vector<std::string>& fields) {
  std::string row;
  for (std::size_t i = 0; i < fields.size(); ++i) row += (i > 0 ? "," : "") + csv_field(fields[i]);
  return row + '\n';
}

}  // namespace halfsplit::text
