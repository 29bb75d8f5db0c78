// SPDX-License-Identifier: Apache-2.0
#include "app/capture_json.h"

#include <cmath>
#include <utility>

#include "app/capture_remarks.h"
#include "can/trouble_codes.h"
#include "can/uds_codes.h"
#include "capture/error_frames.h"

namespace halfsplit::app {

namespace {

double seconds_of(std::int64_t us) { return static_cast<double>(us) / 1.0e6; }

// By themselves, as there are thousands of them: a list in braces is built up, and taken to pieces again.
Json mark_json(const capture::Mark& mark) {
  Json json;
  json["at_s"] = seconds_of(mark.at_us);
  json["line"] = mark.line;
  return json;
}

Json gap_json(const capture::Gap& gap) {
  Json json;
  json["seconds"] = seconds_of(gap.length_us());
  json["before"] = mark_json(gap.before);
  json["after"] = mark_json(gap.after);
  return json;
}

class CaptureJson {
 public:
  CaptureJson(const CaptureReport& report, bool slots) : report_(report), f_(report.findings), slots_(slots) {}

  Json recording() const {
    const capture::Recording& r = report_.recording;
    static constexpr const char* kBases[] = {"none", "relative", "absolute"};
    Json damage = Json::array();
    for (const capture::Damage& d : r.first_damage)
      damage.push_back({{"line", d.line}, {"column", d.column}, {"what", d.what}});
    Json jumps = Json::array();
    for (const capture::ClockJump& jump : f_.jumps)
      jumps.push_back({{"line", jump.line}, {"by_s", seconds_of(jump.by_us)}});
    return {{"file", report_.file},
            {"format", r.format},
            {"times", kBases[static_cast<std::size_t>(r.time_base)]},
            {"channels", r.channels},
            {"lines", r.lines},
            {"bytes", r.bytes},
            {"damaged", r.damaged},
            {"first_damage", std::move(damage)},
            {"skipped", r.skipped},
            {"truncated", r.truncated},
            {"stopped", report_.stopped},
            {"start_s", seconds_of(f_.start_us)},
            {"duration_s", seconds_of(f_.duration_us)},
            {"clock_set", std::move(jumps)}};
  }

  Json remarks() const {
    Json list = Json::array();
    for (const CaptureRemark& remark : capture_remarks(report_))
      list.push_back({{"kind", remark.kind}, {"text", remark.text}, {"lines", remark.lines}});
    return list;
  }

  Json key(const capture::SenderKey& key) const {
    return {{"channel", channel_name(report_, key.channel)}, {key.extended ? "address" : "id", key.number}};
  }

  Json message(const capture::Sender& sender, const capture::Message& m) const {
    Json one{{"id", m.id}};
    if (sender.key.extended) {
      one["pgn"] = m.pgn;
      if (m.destination != 255) one["to"] = m.destination;
    }
    const std::string word = message_word(report_, m.id, sender.key.extended);
    if (!word.empty()) one["name"] = word;
    one["frames"] = m.frames;
    one["first"] = mark_json(m.first);
    one["last"] = mark_json(m.last);
    if (m.rhythm.of > 0 && f_.timed) {
      one["median_ms"] = m.rhythm.median_us / 1000.0;
      one["p5_ms"] = m.rhythm.p5_us / 1000.0;
      one["p95_ms"] = m.rhythm.p95_us / 1000.0;
      one["longest_gap"] = gap_json(m.longest);
    }
    one["comes"] = m.rhythm.cyclic ? "cyclic" : m.on_request ? "on-request" : "irregular";
    if (m.stopped) one["stopped"] = true;
    return one;
  }

  Json senders() const {
    Json list = Json::array();
    for (const capture::Sender& sender : f_.senders) {
      Json one = key(sender.key);
      const std::string word = sender_word(report_, sender);
      if (!word.empty()) one["suggests"] = word;
      one["frames"] = sender.frames;
      one["first"] = mark_json(sender.first);
      one["last"] = mark_json(sender.last);
      if (sender.fastest_us > 0.0) {
        one["fastest_ms"] = sender.fastest_us / 1000.0;
        one["quiet_after_ms"] = static_cast<double>(sender.quiet_us) / 1000.0;
      }
      Json claims = Json::array();
      for (const capture::Claim& claim : sender.claims)
        claims.push_back({{"name", name_text(claim.name)},
                          {"times", claim.times},
                          {"first", mark_json(claim.first)},
                          {"last", mark_json(claim.last)}});
      if (!claims.empty()) one["claims"] = std::move(claims);
      Json messages = Json::array();
      for (const capture::Message& m : sender.messages) messages.push_back(message(sender, m));
      one["messages"] = std::move(messages);
      if (slots_ && f_.timed) one["slots"] = sender.rate;
      list.push_back(std::move(one));
    }
    return list;
  }

  Json sender_list(const std::vector<std::size_t>& senders) const {
    Json list = Json::array();
    for (const std::size_t s : senders) list.push_back(key(f_.senders[s].key));
    return list;
  }

  Json volts(const capture::VoltsMark& v) const {
    Json one = key(v.source);
    one["volts"] = v.volts;
    one["spn"] = v.spn;
    one.update(mark_json(v.at));
    return one;
  }

  Json event(const capture::SilentEvent& e) const {
    Json quiet = Json::array();
    for (const capture::Silence& s : e.silences) {
      Json one = key(f_.senders[s.sender].key);
      one.update(gap_json(s.gap));
      if (s.to_the_end) one["to_the_end"] = true;
      if (s.claimed) one["claimed"] = true;
      quiet.push_back(std::move(one));
    }
    Json json{{"begins", mark_json(e.begin())},     {"quiet", std::move(quiet)},
              {"heard", sender_list(e.heard)},      {"too_slow_to_tell", sender_list(e.too_slow)},
              {"ended_together", e.ended_together}, {"whole_bus", e.whole_bus}};
    if (e.volts_before) json["volts_before"] = volts(*e.volts_before);
    if (e.volts_least) json["volts_least"] = volts(*e.volts_least);
    if (e.volts_after) json["volts_after"] = volts(*e.volts_after);
    return json;
  }

  Json silences() const {
    Json patterns = Json::array();
    for (const capture::SilentPattern& p : f_.patterns) {
      Json events = Json::array();
      for (const std::size_t e : p.events) events.push_back(event(f_.events[e]));
      patterns.push_back({{"senders", sender_list(p.senders)},
                          {"times", p.events.size()},
                          {"shortest_s", seconds_of(p.shortest_us)},
                          {"longest_s", seconds_of(p.longest_us)},
                          {"events", std::move(events)}});
    }
    return patterns;
  }

  Json late() const {
    Json list = Json::array();
    for (const capture::LateComer& l : f_.late) {
      Json one = key(f_.senders[l.sender].key);
      one.update(mark_json(l.first));
      one["claimed"] = l.claimed;
      list.push_back(std::move(one));
    }
    return list;
  }

  Json addresses() const {
    Json conflicts = Json::array();
    for (const capture::AddressConflict& c : f_.conflicts) {
      Json one = key(c.key);
      Json names = Json::array();
      for (const capture::Claim& claim : c.claims) names.push_back(name_text(claim.name));
      one["names"] = std::move(names);
      one["contested"] = c.contested;
      one["keeps_it"] = name_text(c.winner);
      conflicts.push_back(std::move(one));
    }
    Json lost = Json::array();
    for (const capture::CannotClaim& c : f_.cannot_claim)
      lost.push_back({{"channel", channel_name(report_, c.channel)},
                      {"name", name_text(c.claim.name)},
                      {"times", c.claim.times},
                      {"first", mark_json(c.claim.first)}});
    return {{"claimed_by_several", std::move(conflicts)}, {"cannot_claim", std::move(lost)}};
  }

  Json requests() const {
    Json list = Json::array();
    for (const capture::Request& r : f_.requests) {
      Json one{{"channel", channel_name(report_, r.channel)},
               {"from", r.from},
               {"to", r.to},
               {"pgn", r.pgn},
               {"times", r.times},
               {"answered", r.answered},
               {"refused", r.refused},
               {"unanswered", r.unanswered},
               {"answered_by", r.answered_by},
               {"not_answered_by", r.not_answered_by},
               {"first", mark_json(r.first)},
               {"last", mark_json(r.last)}};
      if (r.first_unanswered.line != 0) one["first_unanswered"] = mark_json(r.first_unanswered);
      list.push_back(std::move(one));
    }
    return list;
  }

  Json acknowledgements() const {
    Json list = Json::array();
    for (const capture::Acknowledged& a : f_.acknowledgements)
      list.push_back({{"channel", channel_name(report_, a.channel)},
                      {"from", a.from},
                      {"to", a.to},
                      {"control", a.control},
                      {"pgn", a.pgn},
                      {"times", a.times},
                      {"first", mark_json(a.first)},
                      {"last", mark_json(a.last)}});
    return list;
  }

  Json long_messages() const {
    Json list = Json::array();
    for (const capture::LongMessages& l : f_.long_messages) {
      Json one{{"channel", channel_name(report_, l.channel)},
               {"from", l.from},
               {"to", l.to},
               {"pgn", l.pgn},
               {"largest_bytes", l.largest_bytes},
               {"begun", l.begun},
               {"complete", l.complete},
               {"aborted", l.aborted},
               {"incomplete", l.incomplete},
               {"first", mark_json(l.first)},
               {"last", mark_json(l.last)}};
      if (l.first_failed.line != 0) one["first_failed"] = mark_json(l.first_failed);
      list.push_back(std::move(one));
    }
    return list;
  }

  Json codes() const {
    Json list = Json::array();
    for (const capture::SeenCode& c : f_.codes) {
      const can::CodeGroup* group = can::find_code_group(c.pgn);
      Json one = key(c.source);
      one["list"] = group == nullptr ? std::string() : std::string(group->tells);
      one["pgn"] = c.pgn;
      one["spn"] = c.code.spn;
      one["fmi"] = c.code.fmi;
      if (c.code.older_conversion) one["possible_spns"] = can::possible_spns(c.code);
      if (c.most_count != can::kOccurrencesNotSaid) one["count"] = c.most_count;
      one["times"] = c.times;
      one["came"] = c.came;
      one["went"] = c.went;
      one["at_the_end"] = c.at_the_end;
      one["first"] = mark_json(c.first);
      one["last"] = mark_json(c.last);
      list.push_back(std::move(one));
    }
    return list;
  }

  Json lamps() const {
    static constexpr const char* kNames[] = {"malfunction", "red_stop", "amber_warning", "protect"};
    Json list = Json::array();
    for (const capture::SeenLamps& l : f_.lamps) {
      Json one = key(l.source);
      one["pgn"] = l.pgn;
      one["messages"] = l.messages;
      one["with_codes"] = l.with_codes;
      Json lit = Json::object();
      for (std::size_t i = 0; i < l.lit.size(); ++i)
        if (l.lit[i] > 0) lit[kNames[i]] = {{"messages", l.lit[i]}, {"first", mark_json(l.first_lit[i])}};
      one["lit"] = std::move(lit);
      list.push_back(std::move(one));
    }
    return list;
  }

  Json diagnostic_codes() const {
    Json list = Json::array();
    for (const capture::SeenDiagnosticCode& c : f_.diagnostic_codes) {
      Json one{{"channel", channel_name(report_, c.channel)},
               {"id", c.id},
               {"code", can::diagnostic_code_text(c.code)},
               {"list", c.tells},
               {"times", c.times},
               {"first", mark_json(c.first)},
               {"last", mark_json(c.last)}};
      if (c.code.status) one["status"] = *c.code.status;
      list.push_back(std::move(one));
    }
    return list;
  }

  Json load() const {
    Json list = Json::array();
    if (!f_.timed) return list;
    for (std::size_t c = 0; c < f_.load.size(); ++c) {
      const capture::ChannelLoad& l = f_.load[c];
      if (l.frames == 0 && f_.errors.frames == 0) continue;
      Json slots = Json::array();
      const double slot_s = seconds_of(f_.slot_us);
      for (const capture::LoadSlot& slot : l.slots)
        slots.push_back(static_cast<double>(slot.bits) / slot_s / l.bit_rate);
      Json one{{"channel", channel_name(report_, static_cast<std::uint8_t>(c))},
               {"frames", l.frames},
               {"bit_rate", l.bit_rate},
               {"guessed", l.guessed},
               {"mean", mean_load(report_, l)},
               {"peak", peak_load(l)},
               {"peak_at", mark_json(l.peak)},
               {"slot_s", slot_s},
               {"slots", std::move(slots)}};
      if (slots_) {
        one["least_volts"] = slot_volts(l);
        one["errors"] = slot_errors(l);
      }
      list.push_back(std::move(one));
    }
    return list;
  }

  // Lowest report of anybody in each slot; null: there was none.
  static Json slot_volts(const capture::ChannelLoad& load) {
    Json list = Json::array();
    for (const capture::LoadSlot& slot : load.slots)
      list.push_back(slot.least_volts < 0.0F ? Json(nullptr) : Json(std::round(slot.least_volts * 1000.0) / 1000.0));
    return list;
  }
  static Json slot_errors(const capture::ChannelLoad& load) {
    Json list = Json::array();
    for (const capture::LoadSlot& slot : load.slots) list.push_back(slot.errors);
    return list;
  }

  Json errors() const {
    Json classes = Json::object();
    for (std::size_t c = 0; c < capture::kErrorClasses; ++c)
      if (f_.errors.by_class[c] > 0) classes[std::string(capture::error_class_name(c))] = f_.errors.by_class[c];
    Json bursts = Json::array();
    for (const capture::ErrorBurst& b : f_.errors.bursts)
      bursts.push_back({{"frames", b.frames}, {"first", mark_json(b.first)}, {"last", mark_json(b.last)}});
    return {{"frames", f_.errors.frames},
            {"classes", std::move(classes)},
            {"bursts", std::move(bursts)},
            {"more_bursts", f_.errors.more_bursts},
            {"nothing_else", f_.errors.nothing_else}};
  }

  Json supply() const {
    Json list = Json::array();
    for (const capture::VoltsMark& v : f_.last_volts) list.push_back(volts(v));
    return list;
  }

 private:
  const CaptureReport& report_;
  const capture::Findings& f_;
  bool slots_;
};

}  // namespace

Json capture_json(const CaptureReport& report, bool slots) {
  const CaptureJson json(report, slots);
  return {{"recording", json.recording()},
          {"frames", report.findings.frames},
          {"stands_out", json.remarks()},
          {"senders", json.senders()},
          {"silences", json.silences()},
          {"silences_not_kept", report.findings.more_silences},
          {"heard_late", json.late()},
          {"addresses", json.addresses()},
          {"requests", json.requests()},
          {"acknowledgements", json.acknowledgements()},
          {"long_messages", json.long_messages()},
          {"codes", json.codes()},
          {"lamps", json.lamps()},
          {"diagnostic_codes", json.diagnostic_codes()},
          {"supply", json.supply()},
          {"load", json.load()},
          {"errors", json.errors()},
          {"not_kept", report.findings.not_kept + report.findings.unlisted}};
}

}  // namespace halfsplit::app
