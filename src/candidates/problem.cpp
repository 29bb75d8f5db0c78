// SPDX-License-Identifier: Apache-2.0
#include "candidates/problem.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

namespace halfsplit::candidates {

namespace {

constexpr double kProofMinutes = 2.0;
constexpr double kBeyondMinutes = 60.0;  // widening the drawing: ours
constexpr double kAlongShare = 0.25;     // of an hour: what costs less lies in the van (terminals, wire, fuses); ours
constexpr double kLeastBits = 1.0e-3;
constexpr std::size_t kMostParted = 24;   // suspects looked at by pairs
constexpr float kLeastParting = 1.0e-4F;  // belief in a pair, set apart

bool electrical(const circuit::Loom& loom, const Act& act) {
  return act.kind != Act::Kind::kSetup || is_electrical(loom, act.setup);
}

// What the chances look like, rounded: tests alike in this tell the same.
std::vector<int> signature(const Test& test) {
  std::vector<int> rounded;
  for (const double p : test.chance) rounded.push_back(static_cast<int>(std::lround(p * 50.0)));
  rounded.push_back(static_cast<int>(test.outcomes.size()));
  return rounded;
}

class Maker {
 public:
  explicit Maker(const ProblemInput& input) : in_(input) {}

  BuiltProblem run() {
    collect_acts();
    add_faults();
    add_setups();
    for (std::size_t t = 0; t < in_.tests.size(); ++t) add_test(t);
    add_repairs();
    add_proof();
    return std::move(built_);
  }

 private:
  const circuit::Loom& loom() const { return in_.generate.loom; }

  void note(const Act& act) {
    if (index_.contains(act)) return;
    for (const Act& need : describe(loom(), in_.generate.netlist, act).needs) note(need);
    index_[act] = plan::SetupId(built_.acts.size());
    built_.acts.push_back(act);
  }

  // The acts of the present state, of the chosen tests, of the repairs' places and of the vehicle at work.
  void collect_acts() {
    for (const Act& act : acts_of(in_.generate.now)) note(act);
    for (const Act& act : acts_of(at_work(loom()))) note(act);
    for (const Test& test : in_.tests)
      for (const Act& act : in_.candidates[test.candidate].needs) note(act);
    for (const SuspectRows& suspect : in_.suspects)
      for (const fault::RepairId id : suspect.repairs)
        for (const Act& act : repair_access(id)) note(act);
  }

  std::vector<Act> repair_access(fault::RepairId id) const {
    std::vector<Act> acts;
    for (const circuit::SetupId setup : access(loom(), in_.generate.universe.repairs.at(id.index()).place)) {
      Act act;
      act.setup = setup;
      acts.push_back(act);
    }
    return acts;
  }

  void add_faults() {
    double sum = 0.0;
    for (const SuspectRows& suspect : in_.suspects) sum += suspect.probability;
    for (const SuspectRows& suspect : in_.suspects)
      built_.problem.faults.push_back({suspect.name, suspect.probability / sum});
  }

  void add_setups() {
    for (const Act& act : built_.acts) {
      const ActRecord record = describe(loom(), in_.generate.netlist, act);
      plan::Setup setup;
      setup.name = record.name;
      setup.do_minutes = record.do_minutes;
      setup.undo_minutes = record.leave ? 0.0 : record.undo_minutes;
      for (const Act& need : record.needs) setup.needs.insert(index_.at(need));
      for (const Act& other : record.excludes)
        if (index_.contains(other)) setup.excludes.insert(index_.at(other));
      built_.problem.setups.push_back(std::move(setup));
    }
    for (const Act& act : acts_of(in_.generate.now)) begin_with(act);
  }

  // An act entered without what it needs: what it needs must have been done too. Two that exclude each other cannot
  // both be; the first stands.
  void begin_with(const Act& act) {
    const plan::SetupId id = index_.at(act);
    if (built_.problem.initial_setups.contains(id)) return;
    for (const Act& need : describe(loom(), in_.generate.netlist, act).needs) begin_with(need);
    bool clash = false;
    built_.problem.initial_setups.for_each([&](plan::SetupId other) {
      clash = clash || built_.problem.setups[other.index()].excludes.contains(id) ||
              built_.problem.setups[id.index()].excludes.contains(other);
    });
    if (!clash && built_.problem.initial_setups.contains(built_.problem.setups[id.index()].needs))
      built_.problem.initial_setups.insert(id);
  }

  // What must be made, and every electrical act that must not be.
  plan::Conditions conditions(const std::vector<Act>& needs, bool exact) const {
    plan::Conditions conditions;
    for (const Act& act : needs) conditions.needs.insert(index_.at(act));
    for (std::size_t i = 0; exact && i < built_.acts.size(); ++i)
      if (electrical(loom(), built_.acts[i]) && !conditions.needs.contains(plan::SetupId(i)))
        conditions.forbids.insert(plan::SetupId(i));
    return conditions;
  }

  void add_test(std::size_t t) {
    const Test& from = in_.tests[t];
    const Candidate& candidate = in_.candidates[from.candidate];
    plan::Test test;
    test.name = std::to_string(t);
    test.minutes = candidate.minutes;
    test.conditions = conditions(candidate.needs, evidence::asks_the_circuit(candidate.what.kind));
    if (!possible(test.conditions)) return;
    for (const Outcome& outcome : from.outcomes) test.outcomes.push_back(outcome.name);
    test.table = from.chance;
    built_.problem.tests.push_back(std::move(test));
    built_.test_of.push_back(t);
  }

  // Needs that exclude each other, or that need what is forbidden, make a test impossible.
  bool possible(const plan::Conditions& c) const {
    const std::vector<plan::Setup>& setups = built_.problem.setups;
    bool fine = true;
    c.needs.for_each([&](plan::SetupId i) {
      const plan::Setup& setup = setups[i.index()];
      if (setup.excludes.meets(c.needs) || setup.needs.meets(c.forbids)) fine = false;
    });
    return fine;
  }

  // Nothing is left to do but to leave, and to come again where that was wrong.
  void add_leaving() {
    plan::Repair leave;
    for (std::size_t s = 0; s < in_.suspects.size(); ++s) {
      if (!in_.suspects[s].mended) continue;
      leave.mends.emplace_back(s);
      built_.shift_minutes += built_.problem.faults[s].prior * in_.return_minutes;
    }
    if (leave.mends.empty()) return;
    leave.name = "leave it: mended by what was done";
    leave.extra_minutes = in_.return_minutes;
    built_.leave = built_.repairs.size();
    built_.problem.repairs.push_back(std::move(leave));
    built_.repairs.emplace_back();
  }

  void add_repairs() {
    std::map<std::vector<fault::RepairId>, std::vector<plan::FaultId>> groups;
    for (std::size_t s = 0; s < in_.suspects.size(); ++s)
      if (!in_.suspects[s].mended) groups[in_.suspects[s].repairs].emplace_back(s);
    add_leaving();
    for (auto& [repairs, faults] : groups) {
      // A repair of several things mends whoever needs any part of it alone.
      std::vector<plan::FaultId> mends = faults;
      for (const auto& [other, more] : groups)
        if (other != repairs && !other.empty() &&
            std::includes(repairs.begin(), repairs.end(), other.begin(), other.end()))
          mends.insert(mends.end(), more.begin(), more.end());
      plan::Repair repair;
      repair.mends = std::move(mends);
      if (repairs.empty()) {
        repair.name = "look beyond this drawing";
        repair.minutes = kBeyondMinutes;
      }
      std::vector<Act> needs;
      double fetched = 0.0;  // all parts of a repair at once
      for (const fault::RepairId id : fuses_last(repairs)) {
        const fault::Repair& record = in_.generate.universe.repairs.at(id.index());
        repair.name += (repair.name.empty() ? "" : " and ") + record.name;
        repair.minutes +=
            record.minutes + (record.place.is_none() ? 0.0 : loom().places.at(record.place.index()).minutes);
        repair.extra_minutes += record.part_money / in_.money_per_hour * 60.0;
        if (record.part_money > kAlongShare * in_.money_per_hour) fetched = in_.fetch_minutes;
        for (const Act& act : repair_access(id)) needs.push_back(act);
      }
      repair.extra_minutes += fetched;
      repair.conditions = conditions(needs, false);
      if (!possible(repair.conditions)) repair.conditions = {};
      built_.problem.repairs.push_back(std::move(repair));
      built_.repairs.push_back(fuses_last(repairs));
    }
  }

  // What melted a fuse is mended before the fuse is replaced.
  std::vector<fault::RepairId> fuses_last(std::vector<fault::RepairId> repairs) const {
    std::stable_partition(repairs.begin(), repairs.end(), [&](fault::RepairId id) {
      const circuit::Item& item = in_.generate.universe.repairs.at(id.index()).item;
      return item.kind != circuit::Item::Kind::kPart || loom().parts[item.index].kind != circuit::PartKind::kFuse;
    });
    return repairs;
  }

  // The proof: the vehicle at work, nothing apart, nothing fitted.
  void add_proof() {
    built_.problem.check.minutes = kProofMinutes;
    built_.problem.check.conditions = conditions(acts_of(at_work(loom())), true);
    if (!possible(built_.problem.check.conditions)) built_.problem.check.conditions = {};
  }

  const ProblemInput& in_;
  BuiltProblem built_;
  std::map<Act, plan::SetupId> index_;
};

// How far apart a test sets each pair of the leading suspects that different repairs mend: 0 alike, 1 never the same
// (Hellinger's distance, squared), times the belief in both.
std::vector<float> partings(const Test& test, const std::vector<SuspectRows>& suspects,
                            const std::vector<std::size_t>& leading) {
  const std::size_t count = test.outcomes.size();
  std::vector<double> root(leading.size() * count);
  for (std::size_t i = 0; i < leading.size(); ++i)
    for (std::size_t o = 0; o < count; ++o) root[i * count + o] = std::sqrt(test.chance[leading[i] * count + o]);
  std::vector<float> apart;
  for (std::size_t i = 0; i < leading.size(); ++i)
    for (std::size_t j = i + 1; j < leading.size(); ++j) {
      const SuspectRows& a = suspects[leading[i]];
      const SuspectRows& b = suspects[leading[j]];
      double alike = 0.0;
      for (std::size_t o = 0; o < count; ++o) alike += root[i * count + o] * root[j * count + o];
      const bool same = a.repairs == b.repairs && a.mended == b.mended;
      apart.push_back(same ? 0.0F : static_cast<float>(a.probability * b.probability * (1.0 - std::min(1.0, alike))));
    }
  return apart;
}

// Moves to the front, one after the other, the test that parts most for its minutes of what those before it leave
// together; at most `most`, and only as long as one parts anything. How many.
std::size_t put_parting_first(std::vector<Test>& tests, const std::vector<SuspectRows>& suspects, std::size_t most) {
  std::vector<std::size_t> leading(suspects.size());
  std::iota(leading.begin(), leading.end(), std::size_t{0});
  std::stable_sort(leading.begin(), leading.end(),
                   [&](std::size_t a, std::size_t b) { return suspects[a].probability > suspects[b].probability; });
  if (leading.size() > kMostParted) leading.resize(kMostParted);
  std::vector<std::vector<float>> apart;
  for (const Test& test : tests) apart.push_back(partings(test, suspects, leading));
  std::vector<float> best(apart.front().size(), 0.0F);
  std::size_t chosen = 0;
  for (; chosen < most && chosen < tests.size(); ++chosen) {
    std::size_t next = tests.size();
    double highest = 0.0;
    for (std::size_t t = chosen; t < tests.size(); ++t) {
      float more = 0.0F;
      for (std::size_t i = 0; i < best.size(); ++i) more += std::max(0.0F, apart[t][i] - best[i]);
      if (more < kLeastParting) continue;
      const double rate = static_cast<double>(more) / tests[t].rough_minutes;
      if (rate <= highest) continue;
      highest = rate;
      next = t;
    }
    if (next == tests.size()) break;
    for (std::size_t i = 0; i < best.size(); ++i) best[i] = std::max(best[i], apart[next][i]);
    std::swap(tests[chosen], tests[next]);
    std::swap(apart[chosen], apart[next]);
  }
  return chosen;
}

}  // namespace

double rough_minutes(const GenerateInput& input, const Candidate& candidate) {
  double minutes = candidate.minutes;
  for (const Act& act : candidate.needs) {
    if (is_done(input.now, act)) continue;
    const ActRecord record = describe(input.loom, input.netlist, act);
    minutes += record.do_minutes + (record.leave ? 0.0 : 0.7 * record.undo_minutes);
  }
  for (const Act& act : acts_of(input.now)) {
    if (!electrical(input.loom, act) || is_done(candidate.what.configuration, act)) continue;
    const ActRecord record = describe(input.loom, input.netlist, act);
    minutes += record.undo_minutes;
  }
  return minutes;
}

std::vector<Test> choose_tests(std::vector<Test> tests, const std::vector<SuspectRows>& suspects, std::size_t most) {
  std::erase_if(tests, [](const Test& test) { return test.bits < kLeastBits; });
  std::stable_sort(tests.begin(), tests.end(),
                   [](const Test& a, const Test& b) { return a.rough_minutes < b.rough_minutes; });
  std::set<std::vector<int>> seen;
  std::erase_if(tests, [&](const Test& test) { return !seen.insert(signature(test)).second; });
  const auto rate = [](const Test& test) { return test.bits / test.rough_minutes; };
  std::stable_sort(tests.begin(), tests.end(), [&](const Test& a, const Test& b) { return rate(a) > rate(b); });
  if (tests.size() <= most) return tests;
  // What parts suspects that none before it parts comes first; then the rest by bits per minute, then by bits alone.
  const std::size_t parting = put_parting_first(tests, suspects, most / 2);
  const auto rest = tests.begin() + static_cast<std::ptrdiff_t>(parting);
  std::stable_sort(rest, tests.end(), [&](const Test& a, const Test& b) { return rate(a) > rate(b); });
  const auto middle = tests.begin() + static_cast<std::ptrdiff_t>(std::max(parting, most * 3 / 4));
  std::stable_sort(middle, tests.end(), [](const Test& a, const Test& b) { return a.bits > b.bits; });
  tests.resize(most);
  return tests;
}

BuiltProblem build_problem(const ProblemInput& input) { return Maker(input).run(); }

}  // namespace halfsplit::candidates
