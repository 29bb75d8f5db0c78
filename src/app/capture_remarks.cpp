// SPDX-License-Identifier: Apache-2.0
#include "app/capture_remarks.h"

#include <algorithm>
#include <map>
#include <set>

#include "app/words.h"
#include "base/number.h"
#include "can/j1939_id.h"
#include "can/j1939_name.h"
#include "capture/error_frames.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kMostOfAKind = 6;  // remarks; the rest stands in the tables
constexpr double kMuchLoad = 0.6;        // of the bit rate in the busiest tenth of a second
constexpr std::size_t kMostLines = 12;

class Remarks {
 public:
  explicit Remarks(const CaptureReport& report) : report_(report), f_(report.findings) {}

  std::vector<CaptureRemark> all() {
    errors();
    silences();
    addresses();
    codes();
    requests();
    long_messages();
    stopped();
    late();
    load();
    recording();
    return std::move(remarks_);
  }

 private:
  void add(std::string kind, std::string text, std::vector<std::uint64_t> lines) {
    if (++kinds_[kind] > kMostOfAKind) return;
    lines.resize(std::min(lines.size(), kMostLines));
    remarks_.push_back({std::move(kind), std::move(text), std::move(lines)});
  }

  void errors();
  void silences();
  void pattern(const capture::SilentPattern& pattern);
  void addresses();
  void codes();
  void requests();
  void long_messages();
  void stopped();
  void late();
  void load();
  void recording();
  [[nodiscard]] std::string pattern_volts(const capture::SilentPattern& pattern) const;

  const CaptureReport& report_;
  const capture::Findings& f_;
  std::vector<CaptureRemark> remarks_;
  std::map<std::string, std::size_t> kinds_;
};

void Remarks::errors() {
  const capture::Errors& e = f_.errors;
  if (e.frames == 0) return;
  const capture::ErrorBurst& first = e.bursts.front();
  if (e.nothing_else) {
    add("only-errors",
        "hardly anything but error frames (" + thousands(e.frames) +
            "): the adapter most likely listens at another bit rate than the bus has, or its two wires are exchanged "
            "or "
            "open",
        {first.first.line});
    return;
  }
  std::string classes;
  for (std::size_t c = 0; c < capture::kErrorClasses; ++c)
    if (e.by_class[c] > 0)
      classes +=
          (classes.empty() ? "" : ", ") + std::string(capture::error_class_name(c)) + " " + thousands(e.by_class[c]);
  const std::uint64_t bursts = e.bursts.size() + e.more_bursts;
  std::vector<std::uint64_t> lines;
  for (const capture::ErrorBurst& burst : e.bursts) lines.push_back(burst.first.line);
  add("errors",
      count_text(e.frames, "error frame", "error frames") + " in " + count_text(bursts, "burst", "bursts") +
          ", the first at " + moment_text(first.first.at_us) + " (" + classes + ")",
      lines);
}

std::string Remarks::pattern_volts(const capture::SilentPattern& pattern) const {
  const capture::VoltsMark* before = nullptr;
  const capture::VoltsMark* least = nullptr;
  for (const std::size_t e : pattern.events) {
    const capture::SilentEvent& event = f_.events[e];
    if (event.volts_before && before == nullptr) before = &*event.volts_before;
    if (event.volts_least && (least == nullptr || event.volts_least->volts < least->volts)) least = &*event.volts_least;
  }
  if (before == nullptr && least == nullptr) return "";
  const auto volts = [](const capture::VoltsMark& v) { return base::format_quantity(v.volts, base::Unit::kVolt); };
  if (least == nullptr) return "; supply as reported before it: " + volts(*before);
  if (before == nullptr) return "; supply as reported during it: at least " + volts(*least);
  return "; supply as reported: " + volts(*before) + " before, never below " + volts(*least) + " during it";
}

void Remarks::pattern(const capture::SilentPattern& pattern) {
  std::size_t restarts = 0;
  bool whole = false;
  bool end = false;
  std::vector<std::uint64_t> lines;
  std::vector<std::size_t> heard;
  for (const std::size_t e : pattern.events) {
    const capture::SilentEvent& event = f_.events[e];
    restarts +=
        std::any_of(event.silences.begin(), event.silences.end(), [](const capture::Silence& s) { return s.claimed; });
    whole = whole || event.whole_bus;
    end = end || std::any_of(event.silences.begin(), event.silences.end(),
                             [](const capture::Silence& s) { return s.to_the_end; });
    lines.push_back(event.begin().line);
    if (event.heard.size() > heard.size()) heard = event.heard;
  }
  const std::size_t times = pattern.events.size();
  const std::string length = pattern.shortest_us == pattern.longest_us
                                 ? span_text(static_cast<double>(pattern.longest_us))
                                 : span_text(static_cast<double>(pattern.shortest_us)) + " to " +
                                       span_text(static_cast<double>(pattern.longest_us));
  std::string text = (pattern.senders.size() > 1 ? "quiet together" : "quiet") +
                     (times > 1 ? " " + count_text(times, "time", "times") : std::string()) + " for " + length +
                     (times == 1 ? ", from " + moment_text(f_.events[pattern.events[0]].begin().at_us) : "") +
                     (end ? (times == 1 ? " to the end" : ", once to the end") : "") + ": " +
                     senders_text(report_, pattern.senders);
  if (whole)
    text += "; nobody at all was heard: the bus, its supply, or the recorder paused";
  else if (!heard.empty())
    text += "; " + count_text(heard.size(), "sender", "senders") + " went on: " + senders_text(report_, heard, 3);
  text += pattern_volts(pattern);
  if (restarts > 0)
    text += restarts == times ? "; claimed addresses anew after it: started again"
                              : "; claimed addresses anew after " + std::to_string(restarts) + " of them";
  add(pattern.senders.size() > 1 ? "quiet-together" : "quiet", text, lines);
}

void Remarks::silences() {
  for (const capture::SilentPattern& one : f_.patterns)
    if (one.senders.size() > 1) pattern(one);
  for (const capture::SilentPattern& one : f_.patterns)
    if (one.senders.size() == 1) pattern(one);
}

void Remarks::addresses() {
  for (const capture::AddressConflict& c : f_.conflicts) {
    std::vector<std::uint64_t> lines;
    for (const capture::Claim& claim : c.claims) lines.push_back(claim.first.line);
    add("address-conflict",
        "SA " + std::to_string(c.key.number) + " is claimed by " + std::to_string(c.claims.size()) +
            " different NAMEs" +
            (c.contested ? ", which contest it: two modules want one address" : ", one after the other"),
        lines);
  }
  for (const capture::CannotClaim& c : f_.cannot_claim)
    add("cannot-claim", "a module found no address of its own (cannot claim; NAME " + name_text(c.claim.name) + ")",
        {c.claim.first.line});
}

void Remarks::codes() {
  std::set<std::uint16_t> sources;
  std::size_t active = 0;
  std::vector<std::uint64_t> lines;
  std::string first;
  for (const capture::SeenCode& code : f_.codes) {
    if (code.pgn != can::kPgnActiveCodes) continue;
    ++active;
    sources.insert(code.source.number);
    lines.push_back(code.first.line);
    if (active <= 3)
      first += (first.empty() ? "" : "; ") +
               address_text(report_, code.source.channel, static_cast<std::uint8_t>(code.source.number)) + " " +
               can::trouble_code_text(code.code);
  }
  if (active > 0)
    add("active-codes",
        count_text(active, "active code", "active codes") + " from " + count_text(sources.size(), "module", "modules") +
            ": " + first + (active > 3 ? " ..." : ""),
        lines);
}

void Remarks::requests() {
  constexpr std::size_t kNamed = 4;
  std::size_t unanswered = 0;
  std::string first;
  std::vector<std::uint64_t> lines;
  for (const capture::Request& r : f_.requests) {
    if (r.unanswered == 0 || r.to == can::kGlobalAddress || r.not_answered_by.empty()) continue;
    lines.push_back(r.first_unanswered.line);
    if (++unanswered <= kNamed)
      first += (unanswered == 1 ? "" : "; ") + address_text(report_, r.channel, r.to) + " to " +
               address_text(report_, r.channel, r.from) + ", " + pgn_text(report_, r.pgn);
  }
  if (unanswered == 0) return;
  add("not-answered",
      (unanswered == 1 ? "a request is" : std::to_string(unanswered) + " requests are") +
          " never answered by a sender that is there: " + first + (unanswered > kNamed ? " ..." : ""),
      lines);
}

void Remarks::long_messages() {
  for (const capture::LongMessages& l : f_.long_messages) {
    if (l.aborted + l.incomplete == 0) continue;
    add("long-message-failed",
        "long messages of " + pgn_text(report_, l.pgn) + " from " + address_text(report_, l.channel, l.from) + " to " +
            address_text(report_, l.channel, l.to) + ": " + std::to_string(l.complete) + " of " +
            std::to_string(l.begun) + " complete, " + std::to_string(l.aborted) + " aborted",
        {l.first_failed.line});
  }
}

void Remarks::stopped() {
  for (const capture::Sender& sender : f_.senders)
    for (const capture::Message& m : sender.messages)
      if (m.stopped)
        add("message-stopped",
            sender_text(report_, sender) + " sends " + pgn_text(report_, m.pgn) + " no more after " +
                moment_text(m.last.at_us) + ", though it goes on itself",
            {m.last.line});
}

void Remarks::late() {
  for (const capture::LateComer& l : f_.late)
    add("heard-late",
        sender_text(report_, f_.senders[l.sender]) + " is first heard at " + moment_text(l.first.at_us) +
            (l.claimed ? ", with an address claim" : ""),
        {l.first.line});
}

void Remarks::load() {
  for (std::size_t c = 0; c < f_.load.size(); ++c) {
    const capture::ChannelLoad& load = f_.load[c];
    if (!f_.timed || load.frames == 0 || peak_load(load) < kMuchLoad) continue;
    add("busy",
        "bus load up to " + percent(std::min(1.0, peak_load(load))) + " of " +
            base::format_number(load.bit_rate / 1000.0) + " kbit/s" + (load.guessed ? " (guessed)" : "") + " at " +
            moment_text(load.peak.at_us),
        {load.peak.line});
  }
}

void Remarks::recording() {
  const capture::Recording& r = report_.recording;
  if (f_.frames == 0) add("empty", "no frame in it", {});
  if (f_.frames > 1 && !f_.timed)
    add("no-times", "it has no times: nothing can be said of rhythm, silences and load", {});
  std::vector<std::uint64_t> lines;
  for (const capture::ClockJump& jump : f_.jumps) lines.push_back(jump.line);
  if (!f_.jumps.empty())
    add("clock-set",
        "the recorder's clock was set " + count_text(f_.jumps.size() + f_.more_jumps, "time", "times") + ", first by " +
            (f_.jumps[0].by_us < 0 ? "-" : "+") + span_text(std::abs(static_cast<double>(f_.jumps[0].by_us))) +
            "; times count on as if none had passed there",
        lines);
  if (r.channels.size() > 1 && report_.channel.empty()) {
    std::string names;
    for (const std::string& name : r.channels) names += (names.empty() ? "" : ", ") + name;
    add("several-channels", "it holds several channels (" + names + "); --channel looks at one", {});
  }
  std::vector<std::uint64_t> damage;
  for (const capture::Damage& d : r.first_damage) damage.push_back(d.line);
  if (r.damaged > 0)
    add("damaged",
        count_text(r.damaged, "line is", "lines are") +
            " damaged and passed over, the first: " + (r.first_damage.empty() ? "?" : r.first_damage[0].what),
        damage);
  if (r.truncated || r.problem)
    add("truncated",
        r.problem ? "reading ended before its time: " + r.problem->message : "it ends in the middle: it was cut off",
        {});
  if (r.lost > 0) add("lost", "the tap itself says that it lost " + count_text(r.lost, "frame", "frames"), {});
  if (f_.unlisted > 0)
    add("not-all-listed", thousands(f_.unlisted) + " frames are of more senders or messages than are kept apart", {});
}

}  // namespace

std::string volts_text(const CaptureReport& report, const capture::VoltsMark& volts) {
  return base::format_quantity(volts.volts, base::Unit::kVolt) + " (SPN " + std::to_string(volts.spn) + ", " +
         address_text(report, volts.source.channel, static_cast<std::uint8_t>(volts.source.number)) + ", " +
         moment_text(volts.at.at_us) + ", " + line_text(volts.at) + ")";
}

double mean_load(const CaptureReport& report, const capture::ChannelLoad& load) {
  const double seconds = static_cast<double>(report.findings.duration_us) / 1.0e6;
  return seconds <= 0.0 ? 0.0 : static_cast<double>(load.bits_most) / seconds / load.bit_rate;
}

double peak_load(const capture::ChannelLoad& load) {
  return static_cast<double>(load.peak_bits) * 10.0 / load.bit_rate;
}

std::vector<CaptureRemark> capture_remarks(const CaptureReport& report) { return Remarks(report).all(); }

}  // namespace halfsplit::app
