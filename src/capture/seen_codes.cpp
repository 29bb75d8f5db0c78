// SPDX-License-Identifier: Apache-2.0
#include "capture/seen_codes.h"

#include <algorithm>

namespace halfsplit::capture {

namespace {

constexpr std::size_t kLongestRepeated = 256;  // bytes of a report kept to know it again

bool lit_lamp(can::LampState state) {
  return state == can::LampState::kOn || state == can::LampState::kSlowFlash || state == can::LampState::kFastFlash;
}

void count_lamps(SeenLamps& seen, const can::Lamps& lamps, const Mark& mark) {
  const std::array<can::LampState, 4> states = {lamps.malfunction, lamps.red_stop, lamps.amber_warning, lamps.protect};
  for (std::size_t l = 0; l < states.size(); ++l)
    if (lit_lamp(states[l]) && seen.lit[l]++ == 0) seen.first_lit[l] = mark;
  seen.lamps = lamps;
}

}  // namespace

SeenCodes::Reporter* SeenCodes::reporter(const SenderKey& source, std::uint32_t pgn) {
  const auto same = [&](const Reporter& r) { return r.lamps.source == source && r.lamps.pgn == pgn; };
  std::uint16_t& last = last_of_[source.number & 0xFFU];
  if (last < reporters_.size() && same(reporters_[last])) return &reporters_[last];
  const auto found = std::find_if(reporters_.begin(), reporters_.end(), same);
  last = static_cast<std::uint16_t>(found - reporters_.begin());
  if (found != reporters_.end()) return &*found;
  if (reporters_.size() == kMostReporters) return nullptr;
  reporters_.emplace_back();
  reporters_.back().lamps.source = source;
  reporters_.back().lamps.pgn = pgn;
  return &reporters_.back();
}

void SeenCodes::see(Reporter& reporter, const can::TroubleCode& code, const Mark& mark) {
  const auto same = [&](std::size_t e) {
    return entries_[e].seen.code.spn == code.spn && entries_[e].seen.code.fmi == code.fmi;
  };
  const std::uint64_t report = reporter.lamps.messages;
  const auto found = std::find_if(reporter.codes.begin(), reporter.codes.end(), same);
  const std::size_t index = found == reporter.codes.end() ? entries_.size() : *found;
  if (index == kMostCodes) {
    ++not_kept_;
    return;
  }
  if (index == entries_.size()) {
    reporter.codes.push_back(index);
    SeenCode& seen = entries_.emplace_back().seen;
    seen.source = reporter.lamps.source;
    seen.pgn = reporter.lamps.pgn;
    seen.least_count = seen.most_count = code.occurrences;
    seen.first = mark;
    if (report > 1) ++seen.came;
  }
  Entry& entry = entries_[index];
  if (entry.in_report == report) return;  // told twice in one message
  if (entry.in_report != 0 && entry.in_report + 1 != report) ++entry.seen.came;
  entry.in_report = report;
  entry.seen.code = code;
  entry.seen.least_count = std::min(entry.seen.least_count, code.occurrences);
  entry.seen.most_count = std::max(entry.seen.most_count, code.occurrences);
  ++entry.seen.times;
  entry.seen.last = mark;
}

void SeenCodes::add(const SenderKey& source, std::uint32_t pgn, std::span<const std::uint8_t> bytes, const Mark& mark) {
  if (bytes.size() < can::kLeastCodeReport) return;
  Reporter* from = reporter(source, pgn);
  if (from == nullptr) {
    ++not_kept_;
    return;
  }
  if (std::equal(bytes.begin(), bytes.end(), from->bytes.begin(), from->bytes.end())) return add_again(*from, mark);
  const std::optional<can::CodeReport> report = can::read_code_report(bytes);
  if (!report) return;
  const std::uint64_t not_kept = not_kept_;
  ++from->lamps.messages;
  if (!report->codes.empty()) ++from->lamps.with_codes;
  count_lamps(from->lamps, report->lamps, mark);
  for (const can::TroubleCode& code : report->codes) see(*from, code, mark);
  for (const std::size_t e : from->codes)
    if (entries_[e].in_report + 1 == from->lamps.messages) ++entries_[e].seen.went;
  from->bytes.clear();
  if (bytes.size() > kLongestRepeated || not_kept != not_kept_) return;
  from->bytes.assign(bytes.begin(), bytes.end());
  from->told.clear();
  for (const std::size_t e : from->codes)
    if (entries_[e].in_report == from->lamps.messages) from->told.push_back(e);
}

// The same report once more: nothing came, nothing went.
void SeenCodes::add_again(Reporter& from, const Mark& mark) {
  const std::uint64_t report = ++from.lamps.messages;
  if (!from.told.empty()) ++from.lamps.with_codes;
  count_lamps(from.lamps, from.lamps.lamps, mark);
  for (const std::size_t e : from.told) {
    Entry& entry = entries_[e];
    entry.in_report = report;
    ++entry.seen.times;
    entry.seen.last = mark;
  }
}

void SeenCodes::add_reply(const can::IsoTpMessage& message, const Mark& mark) {
  if (message.end != can::IsoTpEnd::kComplete) return;
  const std::optional<can::DiagnosticReply> reply = can::read_diagnostic_reply(message.bytes);
  if (!reply || reply->kind != can::DiagnosticKind::kCodes) return;
  for (const can::DiagnosticCode& code : reply->codes) {
    const auto found = std::find_if(replied_.begin(), replied_.end(), [&](const SeenDiagnosticCode& s) {
      return s.channel == message.channel && s.extended == message.extended && s.id == message.id &&
             s.service == reply->service && s.tells == reply->tells && s.code == code;
    });
    if (found != replied_.end()) {
      ++found->times;
      found->last = mark;
    } else if (replied_.size() == kMostCodes) {
      ++not_kept_;
    } else {
      replied_.push_back(
          {message.channel, message.extended, message.id, reply->service, reply->tells, code, 1, mark, mark});
    }
  }
}

void SeenCodes::tell(Findings& findings) const {
  findings.not_kept += not_kept_;
  findings.diagnostic_codes = replied_;
  for (const Reporter& reporter : reporters_) {
    findings.lamps.push_back(reporter.lamps);
    for (const std::size_t e : reporter.codes) {
      findings.codes.push_back(entries_[e].seen);
      findings.codes.back().at_the_end = entries_[e].in_report == reporter.lamps.messages;
    }
  }
  const auto by_source = [](const auto& a, const auto& b) {
    return a.source != b.source ? a.source < b.source : a.pgn < b.pgn;
  };
  std::stable_sort(findings.lamps.begin(), findings.lamps.end(), by_source);
  std::stable_sort(findings.codes.begin(), findings.codes.end(), by_source);
}

}  // namespace halfsplit::capture
