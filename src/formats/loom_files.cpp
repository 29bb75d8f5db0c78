// SPDX-License-Identifier: Apache-2.0
// Depth first; the chain of files being read is kept so that a circle can be shown as one.
#include "formats/loom_files.h"

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include "formats/toml_recover.h"
#include "text/path.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

constexpr int kVersion = 1;

class Includer {
 public:
  Includer(const SourceReader& read, text::Sources& sources, LoomReport& report)
      : read_(read), sources_(sources), report_(report) {}

  std::vector<LoomFile> run(const std::string& path) {
    visit(path, {}, 1);
    return std::move(files_);
  }

 private:
  // `from`: where the include stands; no line for the first file.
  void visit(const std::string& path, text::Position from, std::size_t length) {
    const std::string key = text::normal_path(path);
    if (std::find(chain_.begin(), chain_.end(), key) != chain_.end()) return refuse_circle(key, from, length);
    if (!seen_.emplace(key, true).second) return;
    if (seen_.size() > kMostLoomFiles)
      return refuse("too-many", from, length, "more than " + std::to_string(kMostLoomFiles) + " files are included",
                    "join some of them");
    if (chain_.size() >= kMostIncludeDepth)
      return refuse("include-depth", from, length,
                    "includes stand more than " + std::to_string(kMostIncludeDepth) + " deep: " + chain_text(key),
                    "include the files from the first one");
    const std::optional<std::uint32_t> file = load(path, from, length);
    if (!file) return;
    chain_.push_back(key);
    read_file(*file);
    chain_.pop_back();
  }

  void refuse(std::string_view code, text::Position at, std::size_t length, std::string message, std::string hint) {
    report_.set_damaged();
    report_.error(code, at, length, std::move(message), std::move(hint));
  }

  std::string chain_text(const std::string& last) const {
    std::string text;
    for (const std::string& name : chain_) text += name + " -> ";
    return text + last;
  }

  void refuse_circle(const std::string& key, text::Position from, std::size_t length) {
    refuse("include-circle", from, length, "the includes run in a circle: " + chain_text(key),
           "take one of these includes away; each file is read once anyway");
  }

  std::optional<std::uint32_t> load(const std::string& path, text::Position from, std::size_t length) {
    base::Result<std::string> read = read_(path);
    const bool first = from.line == 0;
    if (!read.ok()) {
      const base::Diagnostic& said = read.diagnostics().front();
      if (first) sources_.add(path, "");
      const bool large = said.code == "file.too-large";
      refuse(large ? "too-large" : (first ? "missing" : "include-missing"), from, length, said.message,
             said.hint.empty() ? "check the path; includes are relative to the file that names them" : said.hint);
      return std::nullopt;
    }
    std::string text = std::move(read).value();
    const std::size_t bytes = text.size();
    const bool too_large = bytes > kMostLoomBytes;
    if (too_large) text.clear();
    if (text.compare(0, 3, "\xEF\xBB\xBF") == 0) text.erase(0, 3);  // byte order mark
    const std::uint32_t file = sources_.add(path, std::move(text));
    if (too_large) {
      refuse("too-large", {file, 0, 0}, 1,
             path + " has " + std::to_string(bytes >> 20U) + " MiB; a loom file has at most 16 MiB",
             "is this the right file? Split a large vehicle into included files");
      return std::nullopt;
    }
    return is_text(file) ? std::optional(file) : std::nullopt;
  }

  bool is_text(std::uint32_t file) {
    const text::Source& source = sources_.at(file);
    if (source.text().find_first_not_of(" \t\r\n") == std::string::npos) {
      refuse("empty", {file, 0, 0}, 1, source.name() + " is empty", "a loom begins with: loom = 1");
      return false;
    }
    const std::optional<std::size_t> bad = text::find_invalid_utf8(source.text());
    if (!bad) return true;
    text::Position at = source.position(*bad);
    at.file = file;
    refuse("not-utf8", at, 1, "byte " + std::to_string(*bad) + " of the file is not UTF-8",
           "save the file as UTF-8 (not as Latin-1 or UTF-16)");
    return false;
  }

  void read_file(std::uint32_t file) {
    TomlValue root = read_toml(sources_, file, report_);
    if (!check_version(root, file)) return;
    if (const TomlEntry* includes = root.find("include")) follow(*includes, file);
    files_.push_back({file, std::move(root)});
  }

  bool check_version(const TomlValue& root, std::uint32_t file) {
    const TomlEntry* version = root.find("loom");
    if (version == nullptr) {
      if (file == 0)
        report_.error_unless_damaged("missing-key", {file, 1, 1}, 1, "the format version is missing",
                                     "write loom = 1 on the first line");
      return true;
    }
    const bool whole = version->value.kind == TomlValue::Kind::kWhole;
    if (whole && version->value.number == kVersion) return true;
    refuse("version", version->value.at, 1,
           whole ? "this file is of loom format " + std::to_string(static_cast<long long>(version->value.number)) +
                       "; this program reads format 1"
                 : "loom is the number of the format",
           "write loom = 1, or use the program the file was written for");
    return false;
  }

  void follow(const TomlEntry& includes, std::uint32_t file) {
    if (includes.value.kind != TomlValue::Kind::kList)
      return refuse("bad-type", includes.value.at, 1, "include is a list of file names",
                    "write include = [\"other.loom.toml\"]");
    for (const TomlValue& item : includes.value.items) {
      const bool text = item.kind == TomlValue::Kind::kText;
      const std::size_t length = text ? text::count_characters(item.text) + 2 : 1;
      const bool usable = text && !item.text.empty() && !text::is_absolute_path(item.text) &&
                          item.text.find('\\') == std::string::npos && item.text.find('\0') == std::string::npos;
      if (usable)
        visit(text::join_path(sources_.at(file).name(), item.text), item.at, length);
      else
        refuse("include-path", item.at, length, "an include names a file relative to this one",
               "use / between folders and no drive or leading /");
    }
  }

  const SourceReader& read_;
  text::Sources& sources_;
  LoomReport& report_;
  std::vector<std::string> chain_;
  std::map<std::string, bool> seen_;
  std::vector<LoomFile> files_;
};

}  // namespace

std::vector<LoomFile> read_loom_files(const std::string& path, const SourceReader& read, text::Sources& sources,
                                      LoomReport& report) {
  return Includer(read, sources, report).run(path);
}

}  // namespace halfsplit::formats
