// SPDX-License-Identifier: Apache-2.0
#include "app/capture_text.h"

#include <algorithm>
#include <cstdio>

#include "app/capture_remarks.h"
#include "app/words.h"
#include "base/number.h"
#include "can/j1939_requests.h"
#include "can/trouble_codes.h"
#include "can/uds_codes.h"
#include "capture/error_frames.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kShownOccurrences = 12;
constexpr std::size_t kWordWidth = 24;
constexpr std::size_t kShownLines = 4;

std::string right(const std::string& text, std::size_t width) {
  const std::size_t used = display_width(text);
  return (used < width ? std::string(width - used, ' ') : "") + text;
}

std::string cut(const std::string& text, std::size_t width) {
  return padded(text.size() > width ? text.substr(0, width - 2) + ".." : text, width);
}

class CaptureTables {
 public:
  explicit CaptureTables(const CaptureReport& report) : report_(report), f_(report.findings) {}

  std::string head() const;
  std::string remarks() const;
  std::string roster() const;
  std::string messages() const;
  std::string silences() const;
  std::string codes() const;
  std::string requests() const;
  std::string long_messages() const;
  std::string load() const;

 private:
  [[nodiscard]] std::string sender_row(const capture::Sender& sender) const;
  [[nodiscard]] std::string claim_rows(const capture::Sender& sender) const;
  [[nodiscard]] std::string message_row(const capture::Sender& sender, const capture::Message& message) const;
  [[nodiscard]] std::string occurrence(const capture::SilentEvent& event) const;

  const CaptureReport& report_;
  const capture::Findings& f_;
};

std::string CaptureTables::head() const {
  std::string names;
  for (const std::string& name : report_.recording.channels) names += (names.empty() ? " on " : ", ") + name;
  if (!report_.channel.empty()) names = " on " + report_.channel + " alone";
  std::string text = report_.file + ": " + report_.recording.format + ", " + count_text(f_.frames, "frame", "frames") +
                     (f_.timed ? " in " + span_text(static_cast<double>(f_.duration_us)) : "") + ", " +
                     count_text(f_.senders.size(), "sender", "senders") + names;
  if (report_.stopped) text += "; stopped before its end: this is what was read so far";
  return wrap(text, 2) + "\n";
}

std::string CaptureTables::remarks() const {
  const std::vector<CaptureRemark> remarks = capture_remarks(report_);
  if (remarks.empty()) return "\nnothing stands out\n";
  std::string text = "\nWhat stands out\n";
  for (const CaptureRemark& remark : remarks) {
    std::string lines;
    for (std::size_t l = 0; l < remark.lines.size() && l < kShownLines; ++l)
      lines += (l == 0 ? (remark.lines.size() == 1 ? " [line " : " [lines ") : ", ") + std::to_string(remark.lines[l]);
    if (!lines.empty()) lines += remark.lines.size() > kShownLines ? ", ...]" : "]";
    text += wrap("- " + remark.text + lines, 2) + "\n";
  }
  return text;
}

std::string CaptureTables::claim_rows(const capture::Sender& sender) const {
  std::string text;
  for (const capture::Claim& claim : sender.claims)
    text += "       NAME " + name_text(claim.name) + ", claimed " + count_text(claim.times, "time", "times") + ", " +
            lines_text(claim.first, claim.last) + "\n";
  return text;
}

std::string CaptureTables::sender_row(const capture::Sender& sender) const {
  char id[16];
  std::snprintf(id, sizeof id, sender.key.extended ? "%u" : "%03X", unsigned{sender.key.number});
  std::string row = right(id, 4) + "  " + cut(sender_word(report_, sender), kWordWidth) +
                    right(thousands(sender.frames), 10) + right(std::to_string(sender.messages.size()), 6) + "  ";
  row += right(!f_.timed ? "-" : sender.fastest_us > 0.0 ? span_text(sender.fastest_us) : "none", 9);
  if (f_.timed) row += right(moment_text(sender.first.at_us), 11) + right(moment_text(sender.last.at_us), 11);
  return row + "\n";
}

std::string CaptureTables::roster() const {
  if (f_.senders.empty()) return "";
  std::string text = "\nWho is on the bus\n" + right("addr", 4) + "  " +
                     padded("what commonly sits there", kWordWidth) + right("frames", 10) + right("msgs", 6) + "  " +
                     right("fastest", 9);
  if (f_.timed) text += right("first", 11) + right("last", 11);
  text += "\n";
  std::size_t channels = 0;
  for (const capture::ChannelLoad& load : f_.load) channels += load.frames > 0 ? 1U : 0U;
  int channel = -1;
  for (const capture::Sender& sender : f_.senders) {
    if (channels > 1 && sender.key.channel != channel) text += channel_name(report_, sender.key.channel) + ":\n";
    channel = sender.key.channel;
    text += sender_row(sender) + (sender.claims.size() > 1 ? claim_rows(sender) : "");
  }
  return text;
}

std::string CaptureTables::message_row(const capture::Sender& sender, const capture::Message& m) const {
  char id[16];
  std::snprintf(id, sizeof id, sender.key.extended ? "%08X" : "%03X", unsigned{m.id});
  std::string row = "  " + padded(id, 8) + " " + right(sender.key.extended ? std::to_string(m.pgn) : "", 6) + " " +
                    cut(message_word(report_, m.id, sender.key.extended) +
                            (m.destination != 255 ? " to " + std::to_string(m.destination) : ""),
                        18) +
                    right(thousands(m.frames), 10);
  if (f_.timed && m.frames > 1) {
    row += right(span_text(m.rhythm.median_us), 10) + "  " +
           padded(m.rhythm.cyclic ? span_text(m.rhythm.p5_us) + " to " + span_text(m.rhythm.p95_us)
                  : m.on_request  ? "on request"
                                  : "irregular",
                  20);
    row += " " + span_text(static_cast<double>(m.longest.length_us())) + ", " +
           lines_text(m.longest.before, m.longest.after);
  }
  while (row.ends_with(' ')) row.pop_back();
  return row + "\n";
}

std::string CaptureTables::messages() const {
  if (f_.senders.empty()) return "";
  std::string text = "\nMessages: median interval, 5 to 95 % of intervals, longest gap\n";
  for (const capture::Sender& sender : f_.senders) {
    text += sender_text(report_, sender) + "\n" + claim_rows(sender);
    for (const capture::Message& message : sender.messages) text += message_row(sender, message);
  }
  return text;
}

std::string CaptureTables::occurrence(const capture::SilentEvent& event) const {
  const capture::Gap& gap = event.longest();
  const bool end =
      std::any_of(event.silences.begin(), event.silences.end(), [](const capture::Silence& s) { return s.to_the_end; });
  std::string text = "  at " + moment_text(event.begin().at_us) + " for " +
                     span_text(static_cast<double>(gap.length_us())) + (end ? " to the end" : "") + ", " +
                     lines_text(gap.before, gap.after);
  std::vector<std::size_t> anew;
  for (const capture::Silence& s : event.silences)
    if (s.claimed) anew.push_back(s.sender);
  if (!anew.empty()) text += "; started anew: " + senders_text(report_, anew, 3);
  if (event.volts_before) text += "; before: " + volts_text(report_, *event.volts_before);
  if (event.volts_least) text += "; least: " + volts_text(report_, *event.volts_least);
  if (event.volts_after) text += "; after: " + volts_text(report_, *event.volts_after);
  return wrap(text, 6) + "\n";
}

std::string CaptureTables::silences() const {
  if (f_.patterns.empty()) return "";
  std::string text = "\nSilences\n";
  std::size_t number = 0;
  for (const capture::SilentPattern& pattern : f_.patterns) {
    text += wrap(std::to_string(++number) + ". " + senders_text(report_, pattern.senders), 3) + "\n";
    for (std::size_t e = 0; e < pattern.events.size() && e < kShownOccurrences; ++e)
      text += occurrence(f_.events[pattern.events[e]]);
    if (pattern.events.size() > kShownOccurrences)
      text +=
          "  and " + std::to_string(pattern.events.size() - kShownOccurrences) + " more times: --json has them all\n";
  }
  if (f_.more_silences > 0)
    text += "  at least " + thousands(f_.more_silences) + " more silences, shorter ones, were not kept\n";
  return text;
}

std::string CaptureTables::codes() const {
  if (f_.codes.empty() && f_.diagnostic_codes.empty()) return "";
  std::string text = "\nCodes\n";
  for (const capture::SeenCode& code : f_.codes) {
    const can::CodeGroup* group = can::find_code_group(code.pgn);
    std::string row = "  " + address_text(report_, code.source.channel, static_cast<std::uint8_t>(code.source.number)) +
                      " " + (group == nullptr ? "" : std::string(group->tells) + " ") + trouble_code_text(code.code) +
                      " (" + std::string(can::failure_mode(code.code.fmi).name) + ")";
    if (code.most_count != can::kOccurrencesNotSaid) row += ", count " + std::to_string(code.most_count);
    row += ", told " + count_text(code.times, "time", "times");
    if (f_.timed) row += " from " + moment_text(code.first.at_us) + " to " + moment_text(code.last.at_us);
    row += ", " + lines_text(code.first, code.last);
    if (code.came > 0 || code.went > 0)
      row += "; came " + std::to_string(code.came) + ", went " + std::to_string(code.went);
    text += wrap(row, 6) + "\n";
  }
  for (const capture::SeenDiagnosticCode& code : f_.diagnostic_codes) {
    char id[16];
    std::snprintf(id, sizeof id, code.extended ? "%08X" : "%03X", unsigned{code.id});
    text += wrap("  " + std::string(id) + " " + can::diagnostic_code_text(code.code) + ", " + std::string(code.tells) +
                     ", told " + count_text(code.times, "time", "times") + ", " + lines_text(code.first, code.last),
                 6) +
            "\n";
  }
  return text;
}

std::string CaptureTables::requests() const {
  if (f_.requests.empty() && f_.acknowledgements.empty()) return "";
  std::string text = "\nRequests\n";
  for (const capture::Request& r : f_.requests) {
    std::string row = "  " + address_text(report_, r.channel, r.from) + " asks " +
                      address_text(report_, r.channel, r.to) + " for " + pgn_text(report_, r.pgn) + " " +
                      count_text(r.times, "time", "times") + ": " + thousands(r.answered) + " answered";
    if (r.refused > 0) row += ", " + thousands(r.refused) + " refused";
    if (r.unanswered > 0) row += ", " + thousands(r.unanswered) + " not (" + line_text(r.first_unanswered) + ")";
    const auto list = [](const std::vector<std::uint8_t>& addresses) {
      std::string names;
      for (const std::uint8_t a : addresses) names += (names.empty() ? "" : ", ") + std::to_string(a);
      return names;
    };
    if (!r.answered_by.empty()) row += "; by " + list(r.answered_by);
    if (!r.not_answered_by.empty()) row += "; never by " + list(r.not_answered_by);
    text += wrap(row, 6) + "\n";
  }
  for (const capture::Acknowledged& a : f_.acknowledgements)
    text +=
        wrap("  " + address_text(report_, a.channel, a.from) + " to " + address_text(report_, a.channel, a.to) + ": " +
                 (a.control == 0   ? "done"
                  : a.control == 1 ? "not known"
                  : a.control == 2 ? "denied"
                  : a.control == 3 ? "busy"
                                   : "control " + std::to_string(a.control)) +
                 ", " + pgn_text(report_, a.pgn) + ", " + count_text(a.times, "time", "times") + ", " +
                 lines_text(a.first, a.last),
             6) +
        "\n";
  return text;
}

std::string CaptureTables::long_messages() const {
  if (f_.long_messages.empty()) return "";
  std::string text = "\nLong messages\n";
  for (const capture::LongMessages& l : f_.long_messages)
    text += wrap("  " + pgn_text(report_, l.pgn) + " from " + address_text(report_, l.channel, l.from) + " to " +
                     address_text(report_, l.channel, l.to) + ", up to " + std::to_string(l.largest_bytes) +
                     " bytes: " + thousands(l.begun) + " begun, " + thousands(l.complete) + " complete, " +
                     thousands(l.aborted) + " aborted, " + thousands(l.incomplete) + " incomplete, " +
                     lines_text(l.first, l.last),
                 6) +
            "\n";
  return text;
}

std::string CaptureTables::load() const {
  if (!f_.timed) return "";
  std::string text;
  for (std::size_t c = 0; c < f_.load.size(); ++c) {
    const capture::ChannelLoad& load = f_.load[c];
    if (load.frames == 0) continue;
    text += wrap((f_.load.size() > 1 ? channel_name(report_, static_cast<std::uint8_t>(c)) + ": " : std::string()) +
                     percent(std::min(1.0, mean_load(report_, load))) + " on average, " +
                     percent(std::min(1.0, peak_load(load))) + " in the busiest tenth of a second (" +
                     moment_text(load.peak.at_us) + ", " + line_text(load.peak) + "), of " +
                     base::format_number(load.bit_rate / 1000.0) + " kbit/s" +
                     (load.guessed ? ", which is guessed: --bit-rate says better" : ""),
                 2) +
            "\n";
  }
  return text.empty() ? "" : "\nBus load, as if every frame were stuffed as much as can be\n" + text;
}

}  // namespace

std::string capture_text(const CaptureReport& report, bool every_message) {
  const CaptureTables tables(report);
  return tables.head() + tables.remarks() + tables.roster() + tables.silences() + tables.codes() + tables.requests() +
         tables.long_messages() + tables.load() + (every_message ? tables.messages() : "");
}

}  // namespace halfsplit::app
