// SPDX-License-Identifier: Apache-2.0
// A wire list of somebody else as a loom: CSV with whatever columns it has, guessed from their heads (English, German)
// and put right by the user. Each row is a wire and becomes a path of one hop (path_text.h): kinds are guessed from
// names, what is left open is closed as usual. Nothing is dropped without a word: what is not taken is listed.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace halfsplit::formats {

inline constexpr std::size_t kMostWireListBytes = std::size_t{4} << 20U;

struct WireListColumn {
  std::size_t number = 0;  // from 1
  std::string head;
  std::string meaning;  // "from", "colour" ...; empty: not taken
  bool told = false;    // by the user, not guessed
};

struct WireList {
  char separator = ',';
  std::vector<WireListColumn> columns;
  std::vector<std::string> paths;          // one a wire
  std::size_t rows = 0;                    // below the heads, empty ones left out
  std::vector<base::Diagnostic> left_out;  // rows and values that are not taken, each with its line
};

// What a column may mean: "name", "from", "from-pin", "to", ...
[[nodiscard]] std::vector<std::string> wire_list_meanings();

// `name` stands for the file in diagnostics. `told`: "from=3" (a column's number), "from=HEAD", "colour=" (none has
// it). Errors: csv.empty, csv.too-large, csv.not-utf8, csv.open-quote, csv.no-column, csv.bad-column.
[[nodiscard]] base::Result<WireList> read_wire_list_csv(const std::string& name, std::string_view text,
                                                        const std::vector<std::string>& told);

// Its columns alone, guessed and told as far as they can be: to be put right where the list cannot be read so. No
// paths. Empty columns: not even that.
[[nodiscard]] WireList read_wire_list_columns(std::string_view text, const std::vector<std::string>& told);

}  // namespace halfsplit::formats
