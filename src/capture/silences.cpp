// SPDX-License-Identifier: Apache-2.0
// A sender that stops at an instant was last heard at most one period before it. So silences belong together when some
// instant lies within one period (and kTogetherUs) behind the last frame of each of them: their beginnings, taken as
// stretches of time, have a point in common.
#include "capture/silences.h"

#include <algorithm>
#include <iterator>
#include <limits>
#include <set>

namespace halfsplit::capture {

namespace {

constexpr std::int64_t kLateUs = 1'000'000;  // first heard so long after the start of the recording, and its patience

// A silence with what was noted of it.
struct Quiet {
  Silence silence;
  const NotedGap* noted = nullptr;
  std::int64_t latest_us = 0;  // until when it may have stopped
};

bool begins_before(const Quiet& a, const Quiet& b) {
  const Mark& x = a.silence.gap.before;
  const Mark& y = b.silence.gap.before;
  return x.at_us != y.at_us ? x.at_us < y.at_us : x.line < y.line;
}

// Longer gaps of a sender than it has patience for, and the one to the end.
void add_quiet(const SenderRecord& record, std::size_t index, const Sender& sender, Findings& findings,
               std::vector<Quiet>& all) {
  const auto latest = [&](const Mark& before) {
    return before.at_us + static_cast<std::int64_t>(sender.fastest_us) + kTogetherUs;
  };
  for (const NotedGap& noted : record.gaps.kept()) {
    if (noted.gap.length_us() <= sender.quiet_us) continue;
    all.push_back({{index, noted.gap, false, noted.claimed}, &noted, latest(noted.gap.before)});
  }
  if (findings.last.at_us - sender.last.at_us > sender.quiet_us)
    all.push_back({{index, {sender.last, findings.last}, true, false}, nullptr, latest(sender.last)});
  findings.more_silences += record.gaps.let_go(sender.quiet_us);
}

bool holds(const std::vector<Quiet>& group, std::size_t sender) {
  return std::any_of(group.begin(), group.end(), [sender](const Quiet& q) { return q.silence.sender == sender; });
}

std::vector<std::vector<Quiet>> group_by_beginning(std::vector<Quiet> all) {
  std::sort(all.begin(), all.end(), begins_before);
  std::vector<std::vector<Quiet>> groups;
  std::int64_t common_until = 0;
  for (const Quiet& quiet : all) {
    const bool joins = !groups.empty() && quiet.silence.gap.before.at_us <= common_until &&
                       !holds(groups.back(), quiet.silence.sender);
    if (!joins) groups.emplace_back();
    common_until = joins ? std::min(common_until, quiet.latest_us) : quiet.latest_us;
    groups.back().push_back(quiet);
  }
  return groups;
}

// While all of the group were quiet.
Gap common_gap(const std::vector<Quiet>& group) {
  Gap common = group.front().silence.gap;
  for (const Quiet& quiet : group) {
    if (quiet.silence.gap.before.at_us > common.before.at_us) common.before = quiet.silence.gap.before;
    if (quiet.silence.gap.after.at_us < common.after.at_us) common.after = quiet.silence.gap.after;
  }
  return common;
}

// Without a tenth at either end: who stopped or came back a moment beside the others was still quiet with them.
Gap middle_of(const Gap& gap) {
  const std::int64_t tenth = gap.length_us() / 10;
  return {{gap.before.at_us + tenth, gap.before.line}, {gap.after.at_us - tenth, gap.after.line}};
}

bool covers(const Gap& gap, const Gap& what) {
  return gap.before.at_us <= what.before.at_us && gap.after.at_us >= what.after.at_us;
}

enum class During { kHeard, kTooSlow, kAway };

// Of a sender that is no part of the event: heard in the meantime, or between two of its frames, or not there at all.
During heard_during(const SenderRecord& record, const Sender& sender, const Gap& common) {
  if (sender.first.at_us > common.before.at_us || sender.last.at_us <= common.before.at_us) return During::kAway;
  for (const NotedGap& noted : record.gaps.kept()) {
    if (!covers(noted.gap, common)) continue;
    const bool quiet_itself = sender.quiet_us > 0 && noted.gap.length_us() > sender.quiet_us;
    return quiet_itself ? During::kAway : During::kTooSlow;
  }
  return record.gaps.wants(common.length_us()) ? During::kHeard : During::kTooSlow;
}

void tell_volts(const std::vector<Quiet>& group, SilentEvent& event) {
  for (const Quiet& quiet : group) {
    if (quiet.noted == nullptr) continue;
    const NotedGap& noted = *quiet.noted;
    if (noted.volts_before && (!event.volts_before || noted.volts_before->at.line < event.volts_before->at.line))
      event.volts_before = noted.volts_before;
    if (noted.volts_least && (!event.volts_least || noted.volts_least->volts < event.volts_least->volts))
      event.volts_least = noted.volts_least;
    if (noted.volts_after && (!event.volts_after || noted.volts_after->at.line < event.volts_after->at.line))
      event.volts_after = noted.volts_after;
  }
}

// As for beginnings: an instant within one period ahead of the first frame of each.
bool end_together(const std::vector<Quiet>& group, const Findings& findings) {
  std::int64_t from = std::numeric_limits<std::int64_t>::min();
  std::int64_t to = std::numeric_limits<std::int64_t>::max();
  for (const Quiet& quiet : group) {
    if (quiet.silence.to_the_end) return false;
    const std::int64_t at = quiet.silence.gap.after.at_us;
    const auto period = static_cast<std::int64_t>(findings.senders[quiet.silence.sender].fastest_us);
    from = std::max(from, at - period - kTogetherUs);
    to = std::min(to, at);
  }
  return from <= to;
}

SilentEvent make_event(std::vector<Quiet> group, const SilenceInputs& inputs, const Findings& findings) {
  SilentEvent event;
  std::sort(group.begin(), group.end(),
            [](const Quiet& a, const Quiet& b) { return a.silence.sender < b.silence.sender; });
  const Gap common = middle_of(common_gap(group));
  for (std::size_t s = 0; s < findings.senders.size(); ++s) {
    if (holds(group, s)) continue;
    const During during = heard_during(inputs.records[inputs.order[s]], findings.senders[s], common);
    if (during == During::kHeard) event.heard.push_back(s);
    if (during == During::kTooSlow) event.too_slow.push_back(s);
  }
  const std::vector<NotedGap>& nobody = inputs.nobody.kept();
  event.whole_bus = event.heard.empty() && std::any_of(nobody.begin(), nobody.end(), [&](const NotedGap& noted) {
                      return covers(noted.gap, common);
                    });
  event.ended_together = end_together(group, findings);
  tell_volts(group, event);
  for (const Quiet& quiet : group) event.silences.push_back(quiet.silence);
  return event;
}

// Do two sets of senders differ only in those that are too slow to tell?
bool same_but_for(const std::set<std::size_t>& more, const std::set<std::size_t>& less,
                  const std::set<std::size_t>& slow) {
  return std::all_of(more.begin(), more.end(), [&](std::size_t s) { return less.contains(s) || slow.contains(s); });
}

struct GrowingPattern {
  std::set<std::size_t> senders, slow;
  SilentPattern pattern;
};

void add_to_patterns(const SilentEvent& event, std::size_t index, std::vector<GrowingPattern>& patterns) {
  std::set<std::size_t> senders;
  for (const Silence& silence : event.silences) senders.insert(silence.sender);
  const std::set<std::size_t> slow(event.too_slow.begin(), event.too_slow.end());
  auto found = std::find_if(patterns.begin(), patterns.end(), [&](const GrowingPattern& p) {
    return same_but_for(senders, p.senders, p.slow) && same_but_for(p.senders, senders, slow);
  });
  const std::int64_t length = event.longest().length_us();
  if (found == patterns.end()) {
    found = patterns.emplace(patterns.end());
    found->pattern.shortest_us = found->pattern.longest_us = length;
  }
  found->senders.insert(senders.begin(), senders.end());
  found->slow.insert(slow.begin(), slow.end());
  found->pattern.events.push_back(index);
  found->pattern.shortest_us = std::min(found->pattern.shortest_us, length);
  found->pattern.longest_us = std::max(found->pattern.longest_us, length);
}

void find_patterns(Findings& findings) {
  std::vector<GrowingPattern> patterns;
  for (std::size_t e = 0; e < findings.events.size(); ++e) add_to_patterns(findings.events[e], e, patterns);
  for (GrowingPattern& p : patterns) {
    p.pattern.senders.assign(p.senders.begin(), p.senders.end());
    findings.patterns.push_back(std::move(p.pattern));
  }
  std::stable_sort(findings.patterns.begin(), findings.patterns.end(),
                   [](const SilentPattern& a, const SilentPattern& b) { return a.events.size() > b.events.size(); });
}

}  // namespace

const Gap& SilentEvent::longest() const {
  return std::max_element(silences.begin(), silences.end(),
                          [](const Silence& a, const Silence& b) { return a.gap.length_us() < b.gap.length_us(); })
      ->gap;
}

Mark SilentEvent::begin() const {
  return std::max_element(silences.begin(), silences.end(),
                          [](const Silence& a, const Silence& b) { return a.gap.before.line < b.gap.before.line; })
      ->gap.before;
}

void find_silences(const SilenceInputs& inputs, Findings& findings) {
  std::vector<Quiet> all;
  for (std::size_t s = 0; s < findings.senders.size(); ++s) {
    const Sender& sender = findings.senders[s];
    if (sender.quiet_us == 0) continue;
    const SenderRecord& record = inputs.records[inputs.order[s]];
    add_quiet(record, s, sender, findings, all);
    if (sender.first.at_us > sender.quiet_us + kLateUs)
      findings.late.push_back({s, sender.first, record.claimed_at_first});
  }
  for (std::vector<Quiet>& group : group_by_beginning(std::move(all)))
    findings.events.push_back(make_event(std::move(group), inputs, findings));
  find_patterns(findings);
}

}  // namespace halfsplit::capture
