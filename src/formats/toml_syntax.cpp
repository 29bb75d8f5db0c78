// SPDX-License-Identifier: Apache-2.0
#include "formats/toml_syntax.h"

#include <algorithm>

#include "text/blanks.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

bool holds(std::string_view text, std::string_view part) { return text.find(part) != std::string_view::npos; }

// What stands right of the first '=' outside quotes, without a comment; empty when there is none.
std::string_view value_part(std::string_view line) {
  char quote = '\0';
  std::size_t equals = std::string_view::npos;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (quote != '\0') {
      if (c == quote) quote = '\0';
    } else if (c == '"' || c == '\'') {
      quote = c;
    } else if (c == '#') {
      line = line.substr(0, i);
    } else if (c == '=' && equals == std::string_view::npos) {
      equals = i;
    }
  }
  return equals == std::string_view::npos ? std::string_view() : text::without_blanks(line.substr(equals + 1));
}

std::size_t column_of(std::string_view line, std::string_view part) {
  return 1 + text::count_characters(line.substr(0, static_cast<std::size_t>(part.data() - line.data())));
}

bool is_plain(std::string_view value) {
  return !value.empty() && value.find_first_of("\"'[]{}=,\\") == std::string_view::npos;
}

// fuse without quotes, 4k7, 10 min, 1,5: the commonest slip.
SyntaxFinding unquoted(std::string_view line, std::string_view value) {
  if (holds(value, "\u201C") || holds(value, "\u201D") || holds(value, "\u201E"))
    return {"syntax", "these are not the quotes of a plain text file", "write straight quotes: \"",
            column_of(line, value), text::count_characters(value)};
  const std::string shown = text::shorten(value, 40);
  return {"syntax", shown + " stands without quotes",
          "text, and numbers with a unit, stand between quotes: \"" + shown + "\"", column_of(line, value),
          text::count_characters(value)};
}

struct Saying {
  std::string_view remark;
  std::string_view message, hint;
};
constexpr Saying kSayings[] = {
    {"could not be interpreted as a value", "this number cannot be reckoned with", "write it like 4700 or \"4k7\""},
    {"is not representable in 64 bits", "this number is too large", "write it like 4700 or \"4k7\""},
    {"encountered end-of-file", "the closing quotes are missing", "close the text with the quotes it begins with"},
    {"unknown escape sequence", "a backslash in a text begins an escape, and this is none",
     "write \\\\ for a backslash"},
    {"expected '=', saw", "after a key comes '='", "a key with blanks or signs in it stands in quotes"},
    {"expected ']', saw", "the header's name ends here, and no ] follows",
     "a name with blanks or signs in it stands in quotes: [parts.\"oil lamp\"]"},
    {"inline table: expected key or closing", "an inline table { } stands on one line",
     "put it on one line, or use a [table] header"},
    {"dangling comma", "a comma too much before }", "take it away"},
    {"expected comma or closing ']'", "a comma or the closing ] is missing here",
     "items of a list have commas between"},
    {"expected value, saw", "the value is missing", "write it behind the ="},
    {"expected keys, tables", "this begins neither a key nor a [table]", "write key = value, or # for a remark"},
    {"expected a comment or whitespace", "something stands behind what should end here",
     "one key a line; text stands between quotes, a remark behind #"},
    {"could not determine value type", "this is no value", "text stands between quotes, a list between [ and ]"},
    {"leading zeroes are prohibited", "a number may not begin with 0", "a name of digits stands in quotes: \"05\""},
};

}  // namespace

bool is_redefinition(std::string_view remark) {
  return holds(remark, "cannot redefine") || holds(remark, "into existing inline table");
}

SyntaxFinding explain_syntax(std::string_view remark, std::string_view line, std::size_t column, bool header) {
  const std::size_t width = text::count_characters(line);
  const std::size_t colon = remark.find(": ");  // "Error while parsing string: ..."
  const std::string_view plain = colon == std::string_view::npos ? remark : remark.substr(colon + 2);
  SyntaxFinding finding{"syntax", std::string(plain), "the grammar is that of TOML 1.0", std::min(column, width + 1),
                        1};
  if (holds(remark, "control characters other than TAB")) {
    const bool at_end = column > width;
    finding.message = at_end ? "the closing quote is missing on this line" : "a control character";
    finding.hint = at_end ? "close the text with the quote it begins with" : "take it away";
    return finding;
  }
  const std::string_view value = header ? std::string_view() : value_part(line);
  const bool number = holds(remark, "interpreted as a value") || holds(remark, "not representable");
  const bool key = holds(remark, "expected '=', saw") || holds(remark, "expected keys, tables");
  if (is_plain(value) && !number && !key && !holds(remark, "comment:")) return unquoted(line, value);
  for (const Saying& saying : kSayings) {
    if (!holds(remark, saying.remark)) continue;
    finding.message = saying.message;
    finding.hint = saying.hint;
    break;
  }
  if (number) finding.code = "bad-number";
  if (number && is_plain(value)) {
    finding.column = column_of(line, value);
    finding.length = text::count_characters(value);
  }
  return finding;
}

}  // namespace halfsplit::formats
