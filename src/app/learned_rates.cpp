// SPDX-License-Identifier: Apache-2.0
#include "app/learned_rates.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "fault/rates.h"
#include "infer/learned_rate.h"

namespace halfsplit::app {

namespace {

using store::Learned;
using store::Lesson;

constexpr double kYearDays = 365.25;

std::string kind_name_of(std::string_view item, fault::FaultKind kind) {
  return std::string(item) + ": " + std::string(fault::fault_kind_word(kind));
}

void add_lesson(RateLine& line, const Learned& one) {
  line.confirmed += one.lesson.confirmed;
  line.days += one.lesson.days;
  if (one.lesson.confirmed > 0) line.jobs.push_back(one.job);
}

double learned_of(const RateLine& line) {
  infer::LearnedRate rate;
  rate.default_per_year = line.default_per_year;
  infer::add(rate, {line.confirmed, line.days});
  return infer::mean_per_year(rate);
}

std::int64_t whole_days(double days) { return std::max<std::int64_t>(1, std::llround(days)); }

}  // namespace

std::string kind_name(const fault::Fault& fault) { return kind_name_of(fault.row, fault.kind); }

std::vector<RateLine> learned_kinds(const std::vector<Learned>& learned) {
  std::map<std::string, RateLine> lines;
  for (const Learned& one : learned)
    if (one.lesson.scope == Lesson::Scope::kKind) add_lesson(lines[one.lesson.name], one);
  std::vector<RateLine> kinds;
  for (const fault::RateRecord& record : fault::rate_table()) {
    const auto found = lines.find(kind_name_of(record.item, record.kind));
    if (found == lines.end()) continue;
    RateLine line = found->second;
    line.name = found->first;
    line.default_per_year = record.per_year;
    line.learned_per_year = learned_of(line);
    kinds.push_back(std::move(line));
  }
  return kinds;
}

std::vector<RateLine> learned_faults(const std::vector<Learned>& learned, const std::string& loom,
                                     const fault::Universe& defaults) {
  std::map<std::string, RateLine> lines;
  std::int64_t days = 0;
  for (const Learned& one : learned) {
    if (one.loom != loom) continue;
    if (one.lesson.scope == Lesson::Scope::kLoom) days += one.lesson.days;
    if (one.lesson.scope == Lesson::Scope::kItem) add_lesson(lines[one.lesson.name], one);
  }
  std::vector<RateLine> faults;
  for (auto& [name, line] : lines) {
    const fault::FaultId id = defaults.find(name);
    if (id.is_none()) continue;  // the loom no longer has it
    line.of_kind = false;
    line.name = name;
    line.days = days;
    line.default_per_year = defaults.faults[id.index()].rate_per_year;
    line.learned_per_year = learned_of(line);
    faults.push_back(line);
  }
  return faults;
}

fault::RateOverlay learned_overlay(const std::vector<Learned>& learned, const std::string& loom,
                                   const fault::Universe& defaults) {
  std::map<std::string, double> kinds;
  for (const RateLine& line : learned_kinds(learned)) kinds[line.name] = line.learned_per_year / line.default_per_year;
  fault::RateOverlay overlay;
  for (const fault::RateRecord& record : fault::rate_table())
    if (const auto found = kinds.find(kind_name_of(record.item, record.kind)); found != kinds.end())
      overlay.set(record.item, record.kind, found->second);
  for (const RateLine& line : learned_faults(learned, loom, defaults))
    overlay.set(line.name, defaults.faults[defaults.find(line.name).index()].kind,
                line.learned_per_year / line.default_per_year);
  return overlay;
}

std::vector<Lesson> lessons_of(const fault::Universe& defaults, const std::vector<fault::FaultId>& confirmed) {
  std::map<std::string, Lesson> kinds;
  std::map<std::string, double> share;  // of a kind in the loom: rates of its faults over the record's rate
  double all = 0.0;
  for (const fault::Fault& fault : defaults.faults) {
    all += fault.rate_per_year;
    share[kind_name(fault)] += fault.rate_per_year / fault::rate_of(fault.row, fault.kind).per_year;
  }
  if (all <= 0.0 || confirmed.empty()) return {};
  const double days = kYearDays / all;
  std::vector<Lesson> lessons{{Lesson::Scope::kLoom, "", 0, whole_days(days)}};
  for (const auto& [name, items] : share) kinds[name] = {Lesson::Scope::kKind, name, 0, whole_days(days * items)};
  for (const fault::FaultId id : confirmed) {
    const fault::Fault& fault = defaults.faults.at(id.index());
    ++kinds[kind_name(fault)].confirmed;
    lessons.push_back({Lesson::Scope::kItem, fault.name, 1, 0});
  }
  for (const auto& [name, lesson] : kinds) lessons.push_back(lesson);
  return lessons;
}

std::vector<fault::FaultId> confirmed_faults(Context& context, Session& session) {
  const Belief& belief = session.engine->update(session.evidence, context.cancel);
  const auto done = [&](fault::RepairId r) {
    return std::find(session.repaired.begin(), session.repaired.end(), r) != session.repaired.end();
  };
  for (const std::size_t s : belief.ranked) {
    const infer::Suspect& suspect = belief.posterior.suspects[s];
    const std::vector<fault::RepairId> own = session.engine->own_repairs_of(suspect);
    if (!own.empty() && std::all_of(own.begin(), own.end(), done)) return infer::faults_of(suspect.faults);
  }
  return {};
}

}  // namespace halfsplit::app
