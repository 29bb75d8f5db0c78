// SPDX-License-Identifier: Apache-2.0
// The reader. Format: docs/formats/job.md. TOML is parsed with all its syntax errors at once (toml_recover.h), each
// table is checked against its record (job_fields.h), then what a record cannot say: one verb per entry, numbers used
// once, days that exist. The helpers are the loom reader's; their codes are renamed at the end.
#include "formats/job_text.h"

#include <algorithm>
#include <map>
#include <optional>
#include <utility>
#include <variant>

#include "formats/job_kit.h"
#include "formats/job_section.h"
#include "formats/loom_report.h"
#include "formats/meter_text.h"
#include "formats/one_file.h"
#include "formats/toml_recover.h"
#include "formats/value_text.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;

constexpr OneFileFormat kFormat{"job",
                                kJobVersion,
                                kMostJobBytes,
                                "16 MiB",
                                "a job is opened from a loom; its file begins with: job = 1",
                                "a job is opened from a loom and names it: loom = \"FILE.loom.toml\"",
                                "use the newer Halfsplit that wrote it"};

class Reader {
 public:
  Reader(const std::string& name, std::string_view text) : report_(sources_), too_large_(text.size() > kMostJobBytes) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);  // byte order mark
    sources_.add(name, too_large_ ? std::string() : std::string(text));
  }

  base::Result<job::Job> run() {
    if (is_readable(report_, sources_.at(0), too_large_, kFormat)) read_root(read_toml(sources_, 0, report_));
    const bool failed = report_.has_errors();
    std::vector<base::Diagnostic> said = report_.take();
    rename_codes(said, kFormat);
    for (base::Diagnostic& one : said) name_the_key(one);
    if (failed) return said;
    return {std::move(job_), std::move(said)};
  }

 private:
  // Of a key that stands twice within an [[entry]] the message names the list.
  static void name_the_key(base::Diagnostic& one) {
    if (one.code != "job.duplicate-key" || !one.message.starts_with("entry stands twice")) return;
    std::string_view key = std::string_view(one.where.source_line).substr(0, one.where.source_line.find('='));
    while (key.ends_with(' ')) key.remove_suffix(1);
    one.message = std::string(key) + " stands twice in one entry";
  }

  void read_root(const TomlValue& root) {
    if (!check_version(report_, root, kFormat)) return;
    JobSection top(report_, JobTable::kTop, "the job", root);
    job_.loom = top.text("loom");
    job_.loom_print = top.text("loom_print");
    job_.vehicle = top.text("vehicle");
    job_.complaint = top.text("complaint");
    job_.customer = top.text("customer");
    job_.opened_at = top.time("opened_at");
    job_.closed_at = top.time("closed_at");
    job_.skipped = plain(top.texts("skipped"));
    if (const TomlValue* kit = top.find("kit")) job_.kit = read_kit_table(report_, *kit);
    if (const TomlValue* meter = top.find("meter")) job_.meter = read_meter_table(report_, *meter);
    if (const TomlValue* asked = top.find("asked")) read_asked(*asked);
    if (const TomlValue* entries = top.find("entry")) read_entries(*entries);
    if (const TomlValue* drawn = top.find("drawn")) read_drawn(*drawn);
  }

  static std::vector<std::string> plain(std::vector<PlacedText> placed) {
    std::vector<std::string> texts;
    for (PlacedText& one : placed) texts.push_back(std::move(one.text));
    return texts;
  }

  void read_asked(const TomlValue& value) {
    JobSection section(report_, JobTable::kAsked, "[asked]", value);
    job::Asked asked;
    asked.what = section.text("what");
    asked.first = plain(section.texts("first"));
    asked.minutes = section.number("minutes");
    job_.asked = std::move(asked);
  }

  void read_entries(const TomlValue& list) {
    if (list.kind != Kind::kList)
      return report_.error("bad-type", list.at, caret_length(list), "an entry stands below a header of its own",
                           "write [[entry]], with two brackets on each side");
    job_.entries.reserve(list.items.size());
    for (const TomlValue& item : list.items)
      if (const TomlEntry* number = item.find("n")) highest_ = std::max(highest_, number->value.number);
    for (const TomlValue& item : list.items) read_entry(item);
  }

  void read_drawn(const TomlValue& table) {
    if (table.kind != Kind::kTable)
      return report_.error("bad-type", table.at, caret_length(table),
                           "[drawn] is a table, and here stands " + std::string(kind_name(table.kind)),
                           "write [drawn], then a line for each thing: \"F3\" = \"5f3a\"");
    job_.drawn.reserve(table.entries.size());
    for (const TomlEntry& thing : table.entries) {
      if (thing.value.kind != Kind::kText)
        report_.error("bad-type", thing.value.at, caret_length(thing.value),
                      "the print of a thing is text, and here stands " + std::string(kind_name(thing.value.kind)),
                      "put it between quotes");
      else
        job_.drawn.emplace_back(thing.key, thing.value.text);
    }
  }

  static std::string entry_name(const TomlValue& value) {
    const TomlEntry* number = value.find("n");
    const bool usable = number != nullptr && number->value.kind == Kind::kWhole;
    return usable ? "entry " + base::format_number(number->value.number) : "an entry";
  }

  void read_entry(const TomlValue& value) {
    JobSection section(report_, JobTable::kEntry, entry_name(value), value);
    job::Entry entry;
    entry.number = section.whole("n");
    if (entry.number > 0) note_number(section, entry.number);
    entry.at = section.time("at");
    read_verb(section, entry);
    entry.shows = section.text("shows");
    if (!entry.shows.empty() && (section.has("did") || section.has("note")))
      section.error("key-does-not-fit", "shows", "`shows` goes with `saw`, and " + section.who() + " is none",
                    "put it into the text");
    entry.minutes = section.number("minutes");
    entry.struck = section.flag("struck");
    entry.struck_at = section.time("struck_at");
    if (section.has("struck_at") && !entry.struck)
      section.error("key-does-not-fit", "struck_at", "`struck_at` stands in " + section.who() + ", which is not struck",
                    "write struck = true, or take struck_at away");
    job_.entries.push_back(std::move(entry));
  }

  void note_number(JobSection& section, int number) {
    const std::uint32_t line = section.find("n")->at.line;
    const auto [first, fresh] = numbers_.try_emplace(number, line);
    if (fresh) return;
    section.error(
        "duplicate-number", "n",
        "number " + std::to_string(number) + " is used twice; the first is on line " + std::to_string(first->second),
        "each entry has a number of its own; " + base::format_number(highest_ + 1.0) + " is free");
  }

  void read_verb(JobSection& section, job::Entry& entry) {
    std::string_view first;
    for (const std::string_view verb : entry_verbs()) {
      if (!section.has(verb)) continue;
      if (!first.empty()) {
        section.error("two-verbs", verb,
                      section.who() + " has both " + std::string(first) + " and " + std::string(verb),
                      "one of saw, did and note each: make two entries of it");
        continue;
      }
      first = verb;
      entry.verb = std::string(verb);
      entry.what = section.text(verb);
      if (entry.what.empty() && section.find(verb)->kind == Kind::kText)
        section.error("empty-text", verb, "`" + entry.verb + "` of " + section.who() + " is empty",
                      "say it, or strike the entry");
    }
    if (first.empty())
      section.unless_damaged("missing-key", section.who() + " says neither saw, did nor note", "write one of them");
  }

  text::Sources sources_;
  LoomReport report_;
  bool too_large_;
  job::Job job_;
  std::map<int, std::uint32_t> numbers_;  // entry number -> its line
  double highest_ = 0.0;                  // of all entry numbers
};

}  // namespace

base::Result<job::Job> read_job_text(const std::string& name, std::string_view text) {
  return Reader(name, text).run();
}

}  // namespace halfsplit::formats
