// SPDX-License-Identifier: Apache-2.0
#include "formats/one_file.h"

#include <array>
#include <optional>

#include "base/number.h"
#include "formats/table_reader.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;

constexpr text::Position kWholeFile{0, 0, 0};
constexpr std::array<std::string_view, 3> kFormats = {"loom", "job", "meter"};

// The format whose version stands in a file that lacks our own.
const TomlEntry* find_other(const TomlValue& root, std::string_view key) {
  for (const std::string_view other : kFormats) {
    const TomlEntry* entry = other == key ? nullptr : root.find(other);
    if (entry != nullptr && entry->value.kind == Kind::kWhole) return entry;
  }
  return nullptr;
}

}  // namespace

bool is_readable(LoomReport& report, const text::Source& source, bool too_large, const OneFileFormat& format) {
  const std::string kind(format.key);
  if (too_large) {
    report.error(
        "too-large", kWholeFile, 1,
        source.name() + " is larger than the " + std::string(format.size_text) + " a " + kind + " file may have",
        "is this the right file?");
    return false;
  }
  if (source.text().find_first_not_of(" \t\r\n") == std::string::npos) {
    report.error("empty", kWholeFile, 1, source.name() + " is empty", std::string(format.empty_hint));
    return false;
  }
  const std::optional<std::size_t> bad = text::find_invalid_utf8(source.text());
  if (!bad) return true;
  report.error("not-utf8", source.position(*bad), 1, "byte " + std::to_string(*bad) + " of the file is not UTF-8",
               "save the file as UTF-8 (not as Latin-1 or UTF-16)");
  return false;
}

bool check_version(LoomReport& report, const TomlValue& root, const OneFileFormat& format) {
  const std::string kind(format.key);
  const TomlEntry* version = root.find(format.key);
  if (version == nullptr) {
    const TomlEntry* other = find_other(root, format.key);
    if (other == nullptr) return true;
    report.error("not-a-" + kind, other->value.at, 1, "this is a " + other->key + ", not a " + kind,
                 std::string(format.other_hint));
    return false;
  }
  const bool whole = version->value.kind == Kind::kWhole;
  if (whole && version->value.number == format.version) return true;
  const std::string number = std::to_string(format.version);
  report.error("version", version->value.at, caret_length(version->value),
               whole ? "this file is of " + kind + " format " + base::format_number(version->value.number) +
                           "; this program reads format " + number
                     : "`" + kind + "` is the number of the format, and here stands " +
                           std::string(kind_name(version->value.kind)),
               whole && version->value.number > format.version ? std::string(format.newer_hint)
                                                               : "write " + kind + " = " + number);
  return false;
}

void rename_codes(std::vector<base::Diagnostic>& said, const OneFileFormat& format) {
  const std::string kind(format.key);
  for (base::Diagnostic& one : said) {
    if (one.code.starts_with("loom.")) one.code.replace(0, 4, kind);
    if (one.code != kind + ".duplicate-name" && one.code != kind + ".duplicate-key") continue;
    one.code = kind + ".duplicate-key";
    one.hint = "each key once in its table: keep one of the two";
  }
}

}  // namespace halfsplit::formats
