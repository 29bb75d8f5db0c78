// SPDX-License-Identifier: Apache-2.0
// The writer. Format: docs/formats/job.md; TOML 1.0.0, sections String, Array, Array of Tables. Keys stand in the order
// of the reference; what is empty or the default is left out, [kit] is always written in full. Before the text is
// handed out it is read again: what the reader refuses is refused here with the reader's own words.
#include <utility>

#include "base/number.h"
#include "formats/job_fields.h"
#include "formats/job_text.h"
#include "formats/meter_text.h"
#include "formats/toml_quote.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

constexpr std::size_t kLongestListLine = 100;

constexpr const char* kHead =
    "# A Halfsplit job, format 1: what was seen and done at one vehicle. Every key is explained in "
    "docs/formats/job.md.\n"
    "# The program writes this file anew at every step: comments are not kept.\n";

class Writer {
 public:
  base::Result<std::string> run(const job::Job& job) {
    out_ = kHead;
    write_head(job);
    write_kit(job.kit);
    if (job.meter) out_ += "\n" + write_meter_table(*job.meter, "meter");
    if (job.asked) write_asked(*job.asked);
    for (const job::Entry& entry : job.entries) write_entry(entry);
    if (!job.drawn.empty()) write_drawn(job);
    if (!problems_.empty()) return std::move(problems_);
    return check();
  }

 private:
  void problem(std::string code, std::string message, std::string hint) {
    problems_.push_back(base::make_error(std::move(code), std::move(message), std::move(hint)));
  }

  base::Result<std::string> check() {
    const base::Result<job::Job> again = read_job_text("the job", out_);
    if (again.ok()) return std::move(out_);
    std::vector<base::Diagnostic> said = again.diagnostics();
    for (base::Diagnostic& one : said) one.where = {};  // a place in a text that nobody has
    return said;
  }

  // --- single values -----------------------------------------------------------------------------------------------

  void put(std::string_view key, const std::string& value) { out_ += std::string(key) + " = " + value + "\n"; }

  std::string text_value(std::string_view key, std::string_view text) {
    if (!text::find_invalid_utf8(text)) return toml_quoted(text, text.find('\n') != std::string_view::npos);
    problem("job.not-utf8", "`" + std::string(key) + "` of " + who_ + " is not UTF-8",
            "type it again, or set the terminal to UTF-8");
    return "\"\"";
  }

  void text(std::string_view key, std::string_view text) { put(key, text_value(key, text)); }
  void text_if_any(std::string_view key, std::string_view text) {
    if (!text.empty()) this->text(key, text);
  }
  void flag(std::string_view key, bool value) { put(key, value ? "true" : "false"); }

  void number(std::string_view key, double value) {
    if (value - value == 0.0) return put(key, base::format_number(value));
    problem("job.bad-number", "`" + std::string(key) + "` of " + who_ + " is not a finite number", "give it again");
  }

  void texts(std::string_view key, const std::vector<std::string>& list) {
    std::string line = "[", lines = "[\n";
    for (const std::string& one : list) {
      const std::string value = text_value(key, one);
      line += (line.size() > 1 ? ", " : "") + value;
      lines += "  " + value + ",\n";
    }
    const bool fits = line.size() + key.size() <= kLongestListLine && line.find('\n') == std::string::npos;
    put(key, (fits ? line : lines) + "]");
  }

  // --- tables ------------------------------------------------------------------------------------------------------

  void write_head(const job::Job& job) {
    who_ = "the job";
    put("job", std::to_string(job.version));
    text("loom", job.loom);
    text_if_any("loom_print", job.loom_print);
    text_if_any("vehicle", job.vehicle);
    text_if_any("complaint", job.complaint);
    text_if_any("customer", job.customer);
    text_if_any("opened_at", job.opened_at);
    text_if_any("closed_at", job.closed_at);
    if (!job.skipped.empty()) texts("skipped", job.skipped);
  }

  void write_kit(const job::Kit& kit) {
    who_ = "[kit]";
    out_ += "\n[kit]\n";
    texts("resistors", kit.resistors);
    flag("meter", kit.meter);
    flag("test_lamp", kit.test_lamp);
    flag("clamp", kit.clamp);
    flag("long_lead", kit.long_lead);
    flag("reader", kit.reader);
    flag("heat_gun", kit.heat_gun);
    flag("cold_spray", kit.cold_spray);
    flag("scope", kit.scope);
    number("money_per_hour", kit.money_per_hour);
    number("fetch_minutes", kit.fetch_minutes);
    number("road_minutes", kit.road_minutes);
  }

  void write_asked(const job::Asked& asked) {
    who_ = "[asked]";
    out_ += "\n[asked]\n";
    text("what", asked.what);
    if (!asked.first.empty()) texts("first", asked.first);
    if (asked.minutes != 0.0) number("minutes", asked.minutes);
  }

  void write_entry(const job::Entry& entry) {
    who_ = "entry " + std::to_string(entry.number);
    out_ += "\n[[entry]]\n";
    put("n", std::to_string(entry.number));
    text("at", entry.at);
    write_verb(entry);
    text_if_any("shows", entry.shows);
    if (entry.minutes != 0.0) number("minutes", entry.minutes);
    if (entry.struck) flag("struck", true);
    text_if_any("struck_at", entry.struck_at);
  }

  // Long and dull: it stands last.
  void write_drawn(const job::Job& job) {
    who_ = "[drawn]";
    out_ += "\n[drawn]\n";
    for (const auto& [name, print] : job.drawn) {
      if (text::find_invalid_utf8(name)) problem("job.not-utf8", "a name in [drawn] is not UTF-8", "mend the loom");
      text(toml_quoted(name, false), print);
    }
  }

  void write_verb(const job::Entry& entry) {
    for (const std::string_view verb : entry_verbs())
      if (entry.verb == verb) return text(verb, entry.what);
    problem("job.bad-verb", who_ + " is neither saw, did nor note", "say which of them it is");
  }

  std::string out_;
  std::string who_;
  std::vector<base::Diagnostic> problems_;
};

}  // namespace

base::Result<std::string> write_job_text(const job::Job& job) { return Writer().run(job); }

}  // namespace halfsplit::formats
