// SPDX-License-Identifier: Apache-2.0
// Two steps after a failed parse. One: each statement of the outline is parsed alone; what fails is a true syntax error
// of that statement and is blanked. Two: the rest is parsed as a whole; what still fails is a name or key that stands
// twice, blanked in turn, for a bounded number of rounds. Blanking keeps line breaks, so places stay right.
#include "formats/toml_recover.h"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "formats/loom_fields.h"
#include "formats/toml_statements.h"
#include "formats/toml_syntax.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

constexpr std::size_t kMostRounds = 20;
constexpr std::size_t kMostRoundBytes = std::size_t{16} << 20U;  // of all rounds together

class Recovery {
 public:
  Recovery(const text::Sources& sources, std::uint32_t file, const TomlOutline& outline, LoomReport& report)
      : source_(sources.at(file)), file_(file), statements_(outline.statements), report_(report) {
    blank_.assign(statements_.size(), false);
  }

  TomlValue run() {
    report_.set_damaged();
    for (std::size_t i = 0; i < statements_.size(); ++i) {
      if (!blank_[i]) check_alone(i);
      if (report_.full()) return {};  // a file of something else; reading on would only take time
    }
    const std::size_t rounds = std::clamp<std::size_t>(kMostRoundBytes / (source_.text().size() + 1), 2, kMostRounds);
    for (std::size_t round = 0; round < rounds; ++round) {
      TomlParse parse = parse_toml(remaining(statements_.size()), file_);
      if (parse.ok) return std::move(parse.root);
      if (!blame(parse.error)) break;
    }
    report_.error("syntax", {file_, 0, 0}, 1, "the rest of " + source_.name() + " was not read",
                  "mend the errors above, then check again");
    return {};
  }

 private:
  std::string_view text_of(std::size_t i) const {
    const std::size_t begin = source_.line_start(statements_[i].first_line);
    return std::string_view(source_.text()).substr(begin, source_.line_start(statements_[i].last_line + 1) - begin);
  }

  // The file with only its first `count` statements, the blanked ones as empty lines.
  std::string remaining(std::size_t count) const {
    std::string text;
    text.reserve(source_.text().size());
    std::size_t line = 1;
    for (std::size_t i = 0; i < count; ++i) {
      for (; line < statements_[i].first_line; ++line) text += '\n';
      if (blank_[i]) continue;
      text += text_of(i);
      line = statements_[i].last_line + 1;
    }
    return text;
  }

  void check_alone(std::size_t i) {
    const TomlStatement& statement = statements_[i];
    if (statement.open != '\0') {
      report_open(statement);
      return blank(i);
    }
    const TomlParse parse = parse_toml(text_of(i), file_, static_cast<std::uint32_t>(statement.first_line));
    if (parse.ok) return;
    const SyntaxFinding finding =
        explain_syntax(parse.error.message, source_.line(parse.error.at.line), parse.error.at.column, statement.header);
    const text::Position at{file_, parse.error.at.line, static_cast<std::uint32_t>(finding.column)};
    report_.error(finding.code, at, finding.length, finding.message, finding.hint);
    blank(i);
  }

  void report_open(const TomlStatement& statement) {
    text::Position at = source_.position(statement.open_offset);
    at.file = file_;
    const bool text = statement.open == '"';
    const bool list = statement.open == '[';
    report_.error("syntax", at, text ? 3 : 1,
                  text   ? "this long text is never closed"
                  : list ? "this list is never closed"
                         : "this inline table is never closed",
                  text   ? "close it with three quotes"
                  : list ? "close it with ]"
                         : "close it with } on the same line");
  }

  // A header takes with it what stands below it: those keys would end up in the table above.
  void blank(std::size_t i) {
    blank_[i] = true;
    if (!statements_[i].header) return;
    for (std::size_t k = i + 1; k < statements_.size() && !statements_[k].header; ++k) blank_[k] = true;
  }

  // Reports and blanks the statement that an error of the whole belongs to; false when there is none.
  bool blame(const TomlError& error) {
    const auto after = std::upper_bound(statements_.begin(), statements_.end(), static_cast<std::size_t>(error.at.line),
                                        [](std::size_t line, const TomlStatement& s) { return line < s.first_line; });
    if (after == statements_.begin()) return false;
    const auto i = static_cast<std::size_t>(after - statements_.begin()) - 1;
    if (blank_[i]) return false;
    if (is_redefinition(error.message))
      report_twice(i);
    else
      report_.error("syntax", {file_, error.at.line, error.at.column}, 1, error.message);
    blank(i);
    return true;
  }

  // Keys from the top of the file to what statement i defines.
  std::vector<std::string> path_of(std::size_t i) const {
    std::vector<std::string> path;
    std::size_t header = i;
    while (header > 0 && !statements_[header].header) --header;
    if (header != i && statements_[header].header) append_path(header, path);
    append_path(i, path);
    return path;
  }

  void append_path(std::size_t i, std::vector<std::string>& path) const {
    const TomlParse parse = parse_toml(text_of(i), file_);
    const TomlValue* value = &parse.root;
    while (value->kind == TomlValue::Kind::kTable && value->entries.size() == 1) {
      path.push_back(value->entries.front().key);
      value = &value->entries.front().value;
    }
  }

  void report_twice(std::size_t i) {
    const TomlParse before = parse_toml(remaining(i), file_);
    const TomlEntry* first = nullptr;
    const TomlValue* value = &before.root;
    std::size_t depth = 0;
    for (const std::string& key : path_of(i)) {
      const TomlEntry* next = value->find(key);
      if (next == nullptr) break;
      first = next;
      value = &next->value;
      ++depth;
    }
    const std::string name = first != nullptr ? first->key : "this";
    const std::string line = first != nullptr ? std::to_string(first->at.line) : "an earlier line";
    const std::string_view own = text_of(i);
    const std::size_t indent = std::min(own.find_first_not_of(" \t"), own.size());
    const text::Position at{file_, static_cast<std::uint32_t>(statements_[i].first_line),
                            static_cast<std::uint32_t>(indent + 1)};
    const std::size_t length = text::count_characters(source_.line(statements_[i].first_line)) - indent;
    report_.error(depth == 2 ? "duplicate-name" : "duplicate-key", at, length,
                  name + " stands twice; the first is on line " + line + " of " + source_.name(),
                  depth == 2 ? "each name once over all files: rename one, or take it away"
                             : "each key once in its table: keep one of the two");
  }

  const text::Source& source_;
  std::uint32_t file_;
  const std::vector<TomlStatement>& statements_;
  LoomReport& report_;
  std::vector<bool> blank_;
};

bool within_limits(const TomlOutline& outline, std::uint32_t file, LoomReport& report) {
  const auto refuse = [&](std::string_view code, std::size_t line, std::string message, std::string hint) {
    report.set_damaged();
    report.error(code, {file, static_cast<std::uint32_t>(line), line == 0 ? 0U : 1U}, 1, std::move(message),
                 std::move(hint));
    return false;
  };
  if (outline.deepest > kDeepestNesting)
    return refuse("too-deep", outline.deepest_line,
                  "brackets stand " + std::to_string(outline.deepest) + " deep; a loom needs no more than a few",
                  "look for brackets that are not closed");
  if (outline.longest_dotted > kLongestDottedKey)
    return refuse("too-deep", outline.longest_dotted_line, "a key with more than 32 dots",
                  "a loom needs no key with more than three");
  if (outline.values > kMostTomlValues)
    return refuse("too-many", 0, "the file holds more than 1,000,000 values",
                  "a loom has fewer; is this the right file?");
  if (outline.dotted_keys > kMostDottedKeys)
    return refuse("too-many", 0, "the file holds more than 20,000 dotted keys", "use [table] headers instead");
  return true;
}

}  // namespace

TomlValue read_toml(const text::Sources& sources, std::uint32_t file, LoomReport& report) {
  const std::string& text = sources.at(file).text();
  const TomlOutline outline = outline_toml(text, top_table_names());
  if (!within_limits(outline, file, report)) return {};
  TomlParse parse = parse_toml(text, file);
  if (parse.ok) return std::move(parse.root);
  const std::size_t before = report.error_count();
  TomlValue root = Recovery(sources, file, outline, report).run();
  if (report.error_count() > before) return root;
  const SyntaxFinding finding =  // outside all statements: a remark with control characters
      explain_syntax(parse.error.message, sources.at(file).line(parse.error.at.line), parse.error.at.column, true);
  report.error(finding.code, parse.error.at, finding.length, finding.message, finding.hint);
  return root;
}

}  // namespace halfsplit::formats
