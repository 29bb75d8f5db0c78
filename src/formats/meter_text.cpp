// SPDX-License-Identifier: Apache-2.0
// Format: docs/formats/meter.md. TOML is parsed with all its syntax errors at once (toml_recover.h), each table is
// checked against its record (meter_fields.h), then what a record cannot say: ranges that rise, digits that fit their
// range.
#include "formats/meter_text.h"

#include <utility>

#include "base/number.h"
#include "formats/meter_fields.h"
#include "formats/one_file.h"
#include "formats/table_reader.h"
#include "formats/toml_quote.h"
#include "formats/toml_recover.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

using Kind = TomlValue::Kind;
using meters::MeterProfile;
using meters::MeterRange;

constexpr OneFileFormat kFormat{"meter",
                                kMeterVersion,
                                kMostMeterBytes,
                                "1 MiB",
                                "`halfsplit meter --write` prints a file to start from",
                                "`halfsplit meter --write` prints a meter file to start from",
                                "use the newer Halfsplit that wrote it"};

class ProfileReader {
 public:
  explicit ProfileReader(LoomReport& report) : report_(report) {}

  MeterProfile run(const TomlValue& table, const LoomTable& record, std::string who) {
    TableReader top(report_, record, std::move(who), table);
    read_name(top);
    meter_.note = top.text("note");
    if (const TomlValue* volts = top.find("volts")) read_volts(*volts);
    if (const TomlValue* ohms = top.find("ohms")) read_ohms(*ohms);
    if (const TomlValue* clamp = top.find("clamp")) {
      TableReader reader(report_, meter_table(MeterTable::kClamp), "[clamp]", *clamp);
      read_ranges(reader, MeterTable::kAmpereRange, meter_.clamp);
    }
    if (const TomlValue* lamp = top.find("lamp")) {
      TableReader reader(report_, meter_table(MeterTable::kLamp), "[lamp]", *lamp);
      meter_.lamp_watt = reader.number("watt");
    }
    return std::move(meter_);
  }

 private:
  void read_name(TableReader& top) {
    if (!top.has("name")) return;
    meter_.name = top.text("name");
    if (top.find("name")->kind != Kind::kText) return;
    if (meter_.name.empty())
      top.error("empty-text", "name", "the name of the meter is empty", "name: what you call it");
    else if (text::count_characters(meter_.name) > kMostMeterName)
      top.error("out-of-range", "name", "a meter's name has at most 80 characters", "put the rest into note");
  }

  void read_volts(const TomlValue& value) {
    TableReader volts(report_, meter_table(MeterTable::kVolts), "[volts]", value);
    meter_.input_ohm = volts.number("input_ohm");
    read_ranges(volts, MeterTable::kVoltRange, meter_.volts);
  }

  void read_ohms(const TomlValue& value) {
    TableReader ohms(report_, meter_table(MeterTable::kOhms), "[ohms]", value);
    meter_.full_scale_v = ohms.number("full_scale_v");
    meter_.live_v = ohms.number("live_v");
    meter_.lead_ohm = ohms.number("lead_ohm");
    meter_.lead_spread_ohm = ohms.number("lead_spread_ohm");
    meter_.continuity_ohm = ohms.number("continuity_ohm");
    meter_.continuity_spread_ohm = ohms.number("continuity_spread_ohm");
    read_ranges(ohms, MeterTable::kOhmRange, meter_.ohms);
  }

  void read_ranges(TableReader& reader, MeterTable record, std::vector<MeterRange>& ranges) {
    const TomlValue* list = reader.find("ranges");
    if (list == nullptr) return;
    if (list->kind != Kind::kList || list->items.empty())
      return reader.error("bad-type", "ranges", "`ranges` of " + reader.who() + " is a list of tables, one at least",
                          "for example: ranges = [{ to = 600, percent = 1, counts = 3, digit = 0.1 }]");
    if (list->items.size() > kMostMeterRanges)
      return reader.error("too-many", "ranges", "`ranges` of " + reader.who() + " holds more than 20",
                          "leave out what you never use");
    ranges.clear();
    for (const TomlValue& item : list->items) read_range(reader.who(), item, record, ranges);
  }

  void read_range(const std::string& who, const TomlValue& item, MeterTable record, std::vector<MeterRange>& ranges) {
    TableReader range(report_, meter_table(record), "a range of " + who, item);
    MeterRange made;
    made.up_to = range.number("to");
    made.percent = range.number("percent");
    made.counts = range.number("counts");
    made.digit = range.number("digit");
    if (!range.failed() && made.digit > made.up_to)
      range.error("out-of-range", "digit", "`digit` is larger than the range itself",
                  "it is one step of the last digit: 0.1 where 600.0 is the top");
    if (!range.failed() && !ranges.empty() && made.up_to <= ranges.back().up_to)
      range.error("range-order", "to", "`to` is not above that of the range before", "write ranges from low to high");
    ranges.push_back(made);
  }

  LoomReport& report_;
  MeterProfile meter_;
};

// ---- writing

class ProfileWriter {
 public:
  // `before`: "" or "meter.", what stands in the headers before a table's name; `words`: with a word about each key.
  ProfileWriter(std::string before, bool words) : before_(std::move(before)), words_(words) {}

  std::string run(const MeterProfile& meter) {
    text("name", meter.name);
    if (!meter.note.empty()) text("note", meter.note);
    header("volts");
    number("input_ohm", meter.input_ohm, MeterTable::kVolts);
    ranges(meter.volts, "the last one is used above it as well");
    header("ohms");
    number("full_scale_v", meter.full_scale_v, MeterTable::kOhms);
    number("live_v", meter.live_v, MeterTable::kOhms);
    number("lead_ohm", meter.lead_ohm, MeterTable::kOhms);
    number("lead_spread_ohm", meter.lead_spread_ohm, MeterTable::kOhms);
    number("continuity_ohm", meter.continuity_ohm, MeterTable::kOhms);
    number("continuity_spread_ohm", meter.continuity_spread_ohm, MeterTable::kOhms);
    ranges(meter.ohms, "above the last one: OL");
    header("clamp");
    ranges(meter.clamp, "the last one is used above it as well");
    header("lamp");
    number("watt", meter.lamp_watt, MeterTable::kLamp);
    return std::move(out_);
  }

 private:
  void header(std::string_view name) { out_ += "\n[" + before_ + std::string(name) + "]\n"; }
  void text(std::string_view key, const std::string& value) {
    out_ += std::string(key) + " = " + toml_quoted(value, value.find('\n') != std::string::npos) + "\n";
  }
  void number(std::string_view key, double value, MeterTable table) {
    out_ += std::string(key) + " = " + base::format_number(value);
    if (words_) out_ += "  # " + std::string(meter_table(table).find(key)->help);
    out_ += "\n";
  }
  void ranges(const std::vector<MeterRange>& list, std::string_view words) {
    if (words_) out_ += "# percent of the reading + counts of the last digit; " + std::string(words) + "\n";
    out_ += "ranges = [\n";
    for (const MeterRange& range : list)
      out_ += "  { to = " + base::format_number(range.up_to) + ", percent = " + base::format_number(range.percent) +
              ", counts = " + base::format_number(range.counts) + ", digit = " + base::format_number(range.digit) +
              " },\n";
    out_ += "]\n";
  }

  std::string before_;
  bool words_;
  std::string out_;
};

}  // namespace

base::Result<MeterProfile> read_meter_text(const std::string& name, std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);  // byte order mark
  const bool too_large = text.size() > kMostMeterBytes;
  text::Sources sources;
  sources.add(name, too_large ? std::string() : std::string(text));
  LoomReport report(sources);
  MeterProfile meter;
  if (is_readable(report, sources.at(0), too_large, kFormat)) {
    const TomlValue root = read_toml(sources, 0, report);
    if (check_version(report, root, kFormat))
      meter = ProfileReader(report).run(root, meter_table(MeterTable::kTop), "the meter");
  }
  const bool failed = report.has_errors();
  std::vector<base::Diagnostic> said = report.take();
  rename_codes(said, kFormat);
  if (failed) return said;
  return {std::move(meter), std::move(said)};
}

std::string write_meter_text(const MeterProfile& meter) {
  return "# A meter for Halfsplit, format 1. Every key is explained in docs/formats/meter.md.\nmeter = 1\n" +
         ProfileWriter("", true).run(meter);
}

MeterProfile read_meter_table(LoomReport& report, const TomlValue& table) {
  return ProfileReader(report).run(table, inner_meter_table(), "[meter]");
}

std::string write_meter_table(const MeterProfile& meter, std::string_view header) {
  return "[" + std::string(header) + "]\n" + ProfileWriter(std::string(header) + ".", false).run(meter);
}

}  // namespace halfsplit::formats
