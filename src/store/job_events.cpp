// SPDX-License-Identifier: Apache-2.0
#include "store/job_events.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace halfsplit::store {

namespace {

using Json = nlohmann::ordered_json;

// --- values to JSON and back -----------------------------------------------------------------------------------------

std::string dumped(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }

Json entry_json(const job::Entry& entry) {
  Json json{{"n", entry.number}, {"at", entry.at}, {"verb", entry.verb}, {"what", entry.what}};
  if (!entry.shows.empty()) json["shows"] = entry.shows;
  if (entry.minutes != 0.0) json["minutes"] = entry.minutes;
  if (entry.struck) json["struck"] = true;
  if (!entry.struck_at.empty()) json["struck_at"] = entry.struck_at;
  return json;
}

job::Entry read_entry(const Json& json) {
  job::Entry entry;
  entry.number = json.at("n").get<int>();
  entry.at = json.at("at").get<std::string>();
  entry.verb = json.at("verb").get<std::string>();
  entry.what = json.at("what").get<std::string>();
  entry.shows = json.value("shows", "");
  entry.minutes = json.value("minutes", 0.0);
  entry.struck = json.value("struck", false);
  entry.struck_at = json.value("struck_at", "");
  return entry;
}

Json kit_json(const job::Kit& kit) {
  return {{"resistors", kit.resistors},
          {"meter", kit.meter},
          {"test_lamp", kit.test_lamp},
          {"clamp", kit.clamp},
          {"long_lead", kit.long_lead},
          {"reader", kit.reader},
          {"heat_gun", kit.heat_gun},
          {"cold_spray", kit.cold_spray},
          {"scope", kit.scope},
          {"money_per_hour", kit.money_per_hour},
          {"fetch_minutes", kit.fetch_minutes},
          {"road_minutes", kit.road_minutes}};
}

job::Kit read_kit(const Json& json) {
  job::Kit kit;
  kit.resistors = json.at("resistors").get<std::vector<std::string>>();
  const auto flag = [&](const char* key, bool& value) { value = json.value(key, value); };
  flag("meter", kit.meter);
  flag("test_lamp", kit.test_lamp);
  flag("clamp", kit.clamp);
  flag("long_lead", kit.long_lead);
  flag("reader", kit.reader);
  flag("heat_gun", kit.heat_gun);
  flag("cold_spray", kit.cold_spray);
  flag("scope", kit.scope);
  kit.money_per_hour = json.value("money_per_hour", kit.money_per_hour);
  kit.fetch_minutes = json.value("fetch_minutes", kit.fetch_minutes);
  kit.road_minutes = json.value("road_minutes", kit.road_minutes);
  return kit;
}

Json ranges_json(const std::vector<meters::MeterRange>& ranges) {
  Json list = Json::array();
  for (const meters::MeterRange& range : ranges)
    list.push_back(
        {{"up_to", range.up_to}, {"percent", range.percent}, {"counts", range.counts}, {"digit", range.digit}});
  return list;
}

std::vector<meters::MeterRange> read_ranges(const Json& json) {
  std::vector<meters::MeterRange> ranges;
  for (const Json& one : json)
    ranges.push_back({one.at("up_to").get<double>(), one.at("percent").get<double>(), one.at("counts").get<double>(),
                      one.at("digit").get<double>()});
  return ranges;
}

Json meter_json(const meters::MeterProfile& meter) {
  return {{"name", meter.name},
          {"note", meter.note},
          {"input_ohm", meter.input_ohm},
          {"volts", ranges_json(meter.volts)},
          {"full_scale_v", meter.full_scale_v},
          {"live_v", meter.live_v},
          {"lead_ohm", meter.lead_ohm},
          {"lead_spread_ohm", meter.lead_spread_ohm},
          {"continuity_ohm", meter.continuity_ohm},
          {"continuity_spread_ohm", meter.continuity_spread_ohm},
          {"ohms", ranges_json(meter.ohms)},
          {"clamp", ranges_json(meter.clamp)},
          {"lamp_watt", meter.lamp_watt}};
}

meters::MeterProfile read_meter(const Json& json) {
  meters::MeterProfile meter;
  meter.name = json.at("name").get<std::string>();
  meter.note = json.value("note", "");
  const auto figure = [&](const char* key, double& value) { value = json.value(key, value); };
  figure("input_ohm", meter.input_ohm);
  figure("full_scale_v", meter.full_scale_v);
  figure("live_v", meter.live_v);
  figure("lead_ohm", meter.lead_ohm);
  figure("lead_spread_ohm", meter.lead_spread_ohm);
  figure("continuity_ohm", meter.continuity_ohm);
  figure("continuity_spread_ohm", meter.continuity_spread_ohm);
  figure("lamp_watt", meter.lamp_watt);
  meter.volts = read_ranges(json.at("volts"));
  meter.ohms = read_ranges(json.at("ohms"));
  meter.clamp = read_ranges(json.at("clamp"));
  return meter;
}

// --- what changed ----------------------------------------------------------------------------------------------------

struct Text {
  const char* key;
  std::string job::Job::*value;
};
constexpr Text kTexts[] = {{"loom", &job::Job::loom},         {"loom_print", &job::Job::loom_print},
                           {"vehicle", &job::Job::vehicle},   {"complaint", &job::Job::complaint},
                           {"customer", &job::Job::customer}, {"opened_at", &job::Job::opened_at}};

class Differences {
 public:
  Differences(const job::Job& before, const job::Job& after) : before_(before), after_(after) {}

  std::vector<Event> run() {
    header();
    if (before_.kit != after_.kit) add("kit", kit_json(after_.kit));
    if (before_.meter != after_.meter)
      add("meter", after_.meter ? Json{{"meter", meter_json(*after_.meter)}} : Json{{"meter", nullptr}});
    entries();
    if (before_.skipped != after_.skipped) add("skipped", {{"tests", after_.skipped}});
    asked();
    if (before_.closed_at != after_.closed_at) {
      if (after_.closed_at.empty())
        add("reopened", Json::object());
      else
        add("closed", {{"at", after_.closed_at}});
    }
    return std::move(events_);
  }

 private:
  void add(const char* kind, const Json& body) { events_.push_back({0, "", kind, dumped(body)}); }

  void header() {
    Json changed = Json::object();
    if (before_.version != after_.version) changed["version"] = after_.version;
    for (const Text& text : kTexts)
      if (before_.*text.value != after_.*text.value) changed[text.key] = after_.*text.value;
    if (before_.drawn != after_.drawn) {
      Json drawn = Json::array();
      for (const auto& [name, print] : after_.drawn) drawn.push_back({name, print});
      changed["drawn"] = drawn;
    }
    if (!changed.empty()) add(before_.loom.empty() ? "opened" : "header", changed);
  }

  // Entries only ever grow at the end and are struck or count again; anything else is told as a whole.
  void entries() {
    if (before_.entries == after_.entries) return;
    if (!grew()) {
      Json list = Json::array();
      for (const job::Entry& entry : after_.entries) list.push_back(entry_json(entry));
      return add("entries", {{"entries", list}});
    }
    for (std::size_t i = 0; i < before_.entries.size(); ++i) strike(before_.entries[i], after_.entries[i]);
    for (std::size_t i = before_.entries.size(); i < after_.entries.size(); ++i)
      add("entry", entry_json(after_.entries[i]));
  }

  [[nodiscard]] bool grew() const {
    if (after_.entries.size() < before_.entries.size()) return false;
    std::vector<int> numbers;
    for (std::size_t i = 0; i < before_.entries.size(); ++i) {
      job::Entry now = after_.entries[i];
      if (!now.struck && !now.struck_at.empty() && now != before_.entries[i]) return false;
      now.struck = before_.entries[i].struck;
      now.struck_at = before_.entries[i].struck_at;
      if (now != before_.entries[i]) return false;
      numbers.push_back(now.number);
    }
    std::sort(numbers.begin(), numbers.end());
    return std::adjacent_find(numbers.begin(), numbers.end()) == numbers.end();
  }

  void strike(const job::Entry& was, const job::Entry& is) {
    if (was == is) return;
    if (is.struck)
      add("struck", {{"n", is.number}, {"at", is.struck_at}});
    else
      add("again", {{"n", is.number}});
  }

  void asked() {
    if (before_.asked == after_.asked) return;
    if (!after_.asked) return add("asked", {{"what", nullptr}});
    add("asked", {{"what", after_.asked->what}, {"first", after_.asked->first}, {"minutes", after_.asked->minutes}});
  }

  const job::Job& before_;
  const job::Job& after_;
  std::vector<Event> events_;
};

// --- adding up -------------------------------------------------------------------------------------------------------

void apply_header(job::Job& kept, const Json& body) {
  job::Job job = kept;
  job.version = body.value("version", job.version);
  for (const Text& text : kTexts)
    if (body.contains(text.key)) job.*text.value = body.at(text.key).get<std::string>();
  if (body.contains("drawn")) {
    job.drawn.clear();
    for (const Json& one : body.at("drawn"))
      job.drawn.emplace_back(one.at(0).get<std::string>(), one.at(1).get<std::string>());
  }
  kept = std::move(job);
}

void apply_strike(job::Job& job, const Json& body, bool struck) {
  const int number = body.at("n").get<int>();
  const std::string at = body.value("at", "");
  for (job::Entry& entry : job.entries) {
    if (entry.number != number) continue;
    entry.struck = struck;
    entry.struck_at = struck ? at : "";
  }
}

void apply_asked(job::Job& job, const Json& body) {
  if (body.at("what").is_null()) return job.asked.reset();
  job.asked = job::Asked{body.at("what").get<std::string>(), body.at("first").get<std::vector<std::string>>(),
                         body.at("minutes").get<double>()};
}

void apply_entries(job::Job& job, const Json& body) {
  std::vector<job::Entry> entries;
  for (const Json& one : body.at("entries")) entries.push_back(read_entry(one));
  job.entries = std::move(entries);
}

// Each reads all of its body before it changes the job.
void apply_body(job::Job& job, const std::string& kind, const Json& body) {
  if (kind == "opened" || kind == "header") return apply_header(job, body);
  if (kind == "kit") {
    job.kit = read_kit(body);
  } else if (kind == "meter") {
    const Json& meter = body.at("meter");
    job.meter = meter.is_null() ? std::nullopt : std::optional<meters::MeterProfile>(read_meter(meter));
  } else if (kind == "entry") {
    job.entries.push_back(read_entry(body));
  } else if (kind == "entries") {
    apply_entries(job, body);
  } else if (kind == "struck" || kind == "again") {
    apply_strike(job, body, kind == "struck");
  } else if (kind == "skipped") {
    job.skipped = body.at("tests").get<std::vector<std::string>>();
  } else if (kind == "asked") {
    apply_asked(job, body);
  } else if (kind == "closed") {
    job.closed_at = body.at("at").get<std::string>();
  } else if (kind == "reopened") {
    job.closed_at.clear();
  }
}

std::string header_words(const Json& body) {
  std::string words;
  for (const auto& [key, value] : body.items())
    if (value.is_string() && key != "loom_print" && key != "opened_at")
      words += (words.empty() ? "" : ", ") + key + " \"" + value.get<std::string>() + "\"";
  return words;
}

std::string words_of(const std::string& kind, const Json& body) {
  if (kind == "opened" || kind == "header") return header_words(body);
  if (kind == "entry")
    return std::to_string(body.at("n").get<int>()) + "  " + body.at("verb").get<std::string>() + " " +
           body.at("what").get<std::string>() + (body.contains("shows") ? "  " + body.value("shows", "") : "");
  if (kind == "entries") return "all " + std::to_string(body.at("entries").size()) + " entries anew";
  if (kind == "struck" || kind == "again") return "entry " + std::to_string(body.at("n").get<int>());
  if (kind == "asked") return body.at("what").is_null() ? "nothing" : body.at("what").get<std::string>();
  if (kind == "skipped") return std::to_string(body.at("tests").size()) + " tests left out";
  if (kind == "meter") return body.at("meter").is_null() ? "the common handheld" : body.at("meter").value("name", "");
  if (kind.starts_with("photo") || kind.starts_with("recording"))
    return body.value("name", "") + " " + body.value("sha256", "").substr(0, 12);
  if (kind == "imported") return "from " + body.value("from", "");
  if (kind == "learned") return std::to_string(body.at("confirmed").size()) + " confirmed";
  return "";
}

}  // namespace

std::vector<Event> diff(const job::Job& before, const job::Job& after) { return Differences(before, after).run(); }

base::Result<base::Done> apply(job::Job& job, const Event& event) {
  try {
    apply_body(job, event.kind, Json::parse(event.body));
    return base::Done{};
  } catch (const nlohmann::json::exception& error) {
    return base::make_error(
        "book.bad-event",
        "event " + std::to_string(event.seq) + " (" + event.kind + ") cannot be read: " + error.what(),
        "the book was changed by other means; put a backup in its place");
  }
}

std::string event_words(const Event& event) {
  try {
    return words_of(event.kind, Json::parse(event.body));
  } catch (const nlohmann::json::exception&) {
    return "(cannot be read)";
  }
}

}  // namespace halfsplit::store
