// SPDX-License-Identifier: Apache-2.0
// For tests: everything of the findings that is a number, in one text, so that two can be compared.
#pragma once

#include <sstream>
#include <string>

#include "capture/findings.h"

namespace halfsplit::capture {

inline std::string findings_text(const Findings& f) {
  std::ostringstream text;
  const auto mark = [](const Mark& m) { return std::to_string(m.at_us) + "@" + std::to_string(m.line) + " "; };
  text << f.frames << ' ' << f.remote << ' ' << f.flexible << ' ' << mark(f.last) << f.duration_us << ' ' << f.slot_us
       << ' ' << f.unlisted << ' ' << f.not_kept << '\n';
  for (const Sender& s : f.senders) {
    text << int{s.key.channel} << '/' << s.key.number << ' ' << s.frames << ' ' << mark(s.first) << mark(s.last)
         << s.fastest_us << ' ' << s.quiet_us << '\n';
    for (const std::uint32_t rate : s.rate) text << rate << ' ';
    for (const Claim& c : s.claims) text << c.name << ' ' << c.times << ' ' << mark(c.last);
    for (const Message& m : s.messages)
      text << "\n " << m.id << ' ' << m.frames << ' ' << mark(m.first) << mark(m.last) << m.rhythm.median_us << ' '
           << m.rhythm.p5_us << ' ' << m.rhythm.p95_us << ' ' << mark(m.longest.before) << mark(m.longest.after)
           << m.answers << m.stopped;
    text << '\n';
  }
  for (const SilentEvent& e : f.events) {
    for (const Silence& s : e.silences)
      text << s.sender << ' ' << mark(s.gap.before) << mark(s.gap.after) << s.to_the_end << s.claimed << ' ';
    text << e.heard.size() << ' ' << e.too_slow.size() << ' ' << e.whole_bus << e.ended_together;
    for (const auto* v : {&e.volts_before, &e.volts_least, &e.volts_after})
      if (*v) text << ' ' << (*v)->volts << ' ' << mark((*v)->at);
    text << '\n';
  }
  for (const Request& r : f.requests)
    text << r.pgn << ' ' << int{r.from} << ' ' << int{r.to} << ' ' << r.times << ' ' << r.answered << ' ' << r.refused
         << ' ' << r.unanswered << '\n';
  for (const Acknowledged& a : f.acknowledgements) text << a.pgn << ' ' << a.times << ' ' << mark(a.last) << '\n';
  for (const LongMessages& l : f.long_messages)
    text << l.pgn << ' ' << mark(l.first) << mark(l.last) << mark(l.first_failed) << l.begun << ' ' << l.complete << ' '
         << l.aborted << ' ' << l.incomplete << '\n';
  for (const SeenCode& c : f.codes)
    text << c.code.spn << ' ' << int{c.code.fmi} << ' ' << c.times << ' ' << c.came << ' ' << c.went << mark(c.last)
         << '\n';
  for (const SeenDiagnosticCode& c : f.diagnostic_codes) text << c.id << ' ' << c.times << ' ' << mark(c.last) << '\n';
  for (const VoltsMark& v : f.last_volts) text << v.spn << ' ' << v.volts << ' ' << mark(v.at) << '\n';
  for (const ChannelLoad& l : f.load) {
    text << l.frames << ' ' << l.bits_least << ' ' << l.bit_rate << ": ";
    for (const LoadSlot& slot : l.slots)
      text << slot.bits << '/' << slot.errors << '/' << slot.least_volts << '/' << slot.most_volts << ' ';
  }
  for (const ChannelLoad& l : f.load) text << l.bits_most << ' ' << l.peak_bits << ' ' << mark(l.peak) << '\n';
  for (const ClockJump& j : f.jumps) text << j.line << ' ' << j.by_us << '\n';
  for (const LateComer& l : f.late) text << l.sender << ' ' << mark(l.first) << l.claimed << '\n';
  for (const SilentPattern& p : f.patterns) text << p.senders.size() << ' ' << p.events.size() << '\n';
  for (const ErrorBurst& b : f.errors.bursts) text << mark(b.first) << mark(b.last) << b.frames << '\n';
  text << f.more_jumps << ' ' << f.more_silences << ' ' << f.errors.frames << ' ' << f.errors.bursts.size() << ' '
       << f.conflicts.size() << ' ' << f.cannot_claim.size();
  return text.str();
}

}  // namespace halfsplit::capture
