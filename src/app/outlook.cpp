// SPDX-License-Identifier: Apache-2.0
#include "app/outlook.h"

#include <algorithm>
#include <limits>
#include <map>
#include <numeric>

#include "base/check.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using candidates::Candidate;
using candidates::SuspectRows;
using candidates::Test;

constexpr std::size_t kMostSuspects = 18;
constexpr std::size_t kMostOthers = 18;  // repairs that stand for all their less probable suspects
constexpr double kMassCovered = 0.995;
constexpr std::size_t kMostRowsEach = 5;
constexpr double kLeastRowShare = 0.03;
constexpr double kHardlyMended = 1e-4;
constexpr std::size_t kMostTests = 40;
constexpr std::size_t kMostLookedAt = 80;  // candidates predicted at every severity

// The rows that carry a suspect, with their shares of it.
std::vector<std::pair<std::size_t, double>> leading_rows(const Belief& belief, const infer::Suspect& suspect) {
  std::vector<std::pair<std::size_t, double>> rows;
  std::vector<std::size_t> order = suspect.rows;
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return belief.posterior.row[a] > belief.posterior.row[b]; });
  double sum = 0.0;
  for (std::size_t i = 0; i < order.size() && i < kMostRowsEach; ++i) {
    const double share = belief.posterior.row[order[i]] / std::max(suspect.probability, 1e-300);
    if (i > 0 && share < kLeastRowShare) break;
    rows.emplace_back(order[i], share);
    sum += share;
  }
  for (auto& row : rows) row.second /= sum;
  return rows;
}

// Rows of several suspects that the same repairs mend, with their shares of all.
void keep_leading_rows(SuspectRows& suspect) {
  std::stable_sort(suspect.rows.begin(), suspect.rows.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  if (suspect.rows.size() > kMostRowsEach) suspect.rows.resize(kMostRowsEach);
  double sum = 0.0;
  for (const auto& row : suspect.rows) sum += row.second;
  for (auto& row : suspect.rows) row.second /= sum;
}

// Are the repairs that are not done yet among these?
bool mends(const std::vector<fault::RepairId>& these, const std::vector<fault::RepairId>& repairs,
           const std::vector<fault::RepairId>& done) {
  const auto among = [](const std::vector<fault::RepairId>& some, fault::RepairId r) {
    return std::find(some.begin(), some.end(), r) != some.end();
  };
  return std::all_of(repairs.begin(), repairs.end(),
                     [&](fault::RepairId r) { return among(these, r) || among(done, r); });
}

// The leading suspects and the rows that carry them; the others by what mends them, so that a belief spread thin is not
// taken for "not on this drawing". What is left over is left out.
std::vector<SuspectRows> leading(BeliefEngine& engine, const Belief& belief,
                                 const std::vector<fault::RepairId>& repaired, Mended weighed,
                                 const base::CancelToken& cancel) {
  std::vector<SuspectRows> suspects;
  std::vector<SuspectRows> others;
  double covered = 0.0;
  double beyond = 0.0;
  double skipped = 0.0;
  SuspectRows done;  // by what the likeliest of them shows, mended
  done.name = "mended by what was done";
  done.mended = true;
  for (const std::size_t s : belief.ranked) {
    if (cancel.cancelled()) break;
    const infer::Suspect& suspect = belief.posterior.suspects[s];
    const auto all_done = [&](const std::vector<fault::RepairId>& repairs) {
      return !repairs.empty() && std::all_of(repairs.begin(), repairs.end(), [&](fault::RepairId r) {
        return std::find(repaired.begin(), repaired.end(), r) != repaired.end();
      });
    };
    // What melts with it is a solve for each: not for those that would be left out whatever it is.
    const std::vector<fault::RepairId> own = engine.own_repairs_of(suspect);
    if (!own.empty() && !all_done(own)) {
      const bool full = suspects.size() >= kMostSuspects && others.size() >= kMostOthers;
      const auto mends_it = [&](const SuspectRows& other) { return mends(other.repairs, own, repaired); };
      if (covered > kMassCovered * (1.0 - skipped)) continue;
      if (full && std::none_of(others.begin(), others.end(), mends_it)) continue;
    }
    const std::vector<fault::RepairId> repairs = engine.repairs_of(belief, suspect);
    const bool mended = all_done(repairs);
    if (mended) {
      skipped += suspect.probability;
      if (done.rows.empty()) done.rows = leading_rows(belief, suspect);
      continue;
    }
    if (repairs.empty()) {
      beyond += suspect.probability;
      continue;
    }
    if (covered > kMassCovered * (1.0 - skipped)) continue;
    SuspectRows rows;
    rows.name = engine.suspect_name(suspect);
    rows.probability = suspect.probability;
    for (const fault::RepairId r : repairs)
      if (std::find(repaired.begin(), repaired.end(), r) == repaired.end()) rows.repairs.push_back(r);
    rows.rows = leading_rows(belief, suspect);
    if (suspects.size() < kMostSuspects) {
      covered += suspect.probability;
      suspects.push_back(std::move(rows));
      continue;
    }
    for (auto& row : rows.rows) row.second *= suspect.probability;
    const auto same = std::find_if(others.begin(), others.end(),
                                   [&](const SuspectRows& other) { return other.repairs == rows.repairs; });
    if (same != others.end()) {
      same->probability += rows.probability;
      same->rows.insert(same->rows.end(), rows.rows.begin(), rows.rows.end());
    } else if (others.size() < kMostOthers) {
      others.push_back(std::move(rows));
    } else {
      continue;
    }
    covered += suspect.probability;
  }
  for (SuspectRows& other : others) {
    keep_leading_rows(other);
    suspects.push_back(std::move(other));
  }
  done.probability = skipped;
  if (weighed == Mended::kWeighed && skipped > kHardlyMended) suspects.push_back(std::move(done));
  SuspectRows other;
  other.name = "not on this drawing";
  other.probability = std::max(beyond, 1e-6);
  suspects.push_back(std::move(other));
  double total = 0.0;
  for (const SuspectRows& s : suspects) total += s.probability;
  for (SuspectRows& s : suspects) s.probability /= total;
  return suspects;
}

// At the severity that the readings so far leave likeliest within the row's stretch.
infer::Row leaned(const Belief& belief, std::size_t row) {
  infer::Row its = belief.rows[row];
  if (row < belief.leans.size() && its.second.is_none())
    its.first_quantile = infer::quantile_at(belief.rows, row, belief.leans[row]);
  return its;
}

// Rows renumbered into a small table of their own: cases of the leading suspects, then the vehicle without a fault.
std::vector<predict::Case> small_cases(BeliefEngine& engine, const Belief& belief,
                                       const std::vector<fault::RepairId>& repaired,
                                       std::vector<SuspectRows>& suspects) {
  std::vector<predict::Case> cases;
  std::map<std::size_t, std::size_t> place;
  for (SuspectRows& suspect : suspects)
    for (auto& [row, weight] : suspect.rows) {
      const auto [at, fresh] = place.try_emplace(row, cases.size());
      if (fresh) cases.push_back(engine.case_of(leaned(belief, row), repaired));
      row = at->second;
    }
  cases.emplace_back();
  return cases;
}

std::vector<std::vector<std::string>> find_alike(const std::vector<SuspectRows>& suspects,
                                                 const std::vector<Test>& tests) {
  std::vector<double> probabilities;
  std::vector<infer::Outcomes> outcomes;
  for (std::size_t s = 0; s + 1 < suspects.size(); ++s) {
    if (suspects[s].probability < 0.005) continue;
    probabilities.push_back(suspects[s].probability);
    infer::Outcomes all;
    for (const Test& test : tests) {
      const auto begin = test.chance.begin() + static_cast<std::ptrdiff_t>(s * test.outcomes.size());
      all.emplace_back(begin, begin + static_cast<std::ptrdiff_t>(test.outcomes.size()));
    }
    outcomes.push_back(std::move(all));
  }
  std::vector<std::vector<std::string>> alike;
  if (tests.empty()) return alike;
  for (const infer::AlikeGroup& group : infer::group_alike(probabilities, outcomes)) {
    if (group.members.size() < 2) continue;
    std::vector<std::string> names;
    for (const std::size_t member : group.members) names.push_back(suspects[member].name);
    alike.push_back(std::move(names));
  }
  return alike;
}

class Forecaster {
 public:
  Forecaster(Context& context, Session& session, double within_minutes, Mended mended)
      : context_(context),
        session_(session),
        engine_(*session.engine),
        belief_(engine_.update(session.evidence, context.cancel)),
        outlook_{roll_of(session.job.kit), {}, {}, {}, {}, {}, {}},
        input_(generate_input(session, outlook_.roll, belief_)),
        within_minutes_(within_minutes),
        mended_(mended) {
    // Candidates ask for volts in many configurations, a bench for each. Once cancelled all of it counts as live: what
    // is offered all the same must not be ohms where nobody looked.
    input_.healthy_volts = [ask = std::move(input_.healthy_volts), &context](const circuit::Configuration& state,
                                                                             circuit::PointId a, circuit::PointId b) {
      return context.cancel.cancelled() ? std::numeric_limits<double>::infinity() : ask(state, a, b);
    };
  }

  Outlook run() {
    outlook_.suspects = leading(engine_, belief_, session_.repaired, mended_, context_.cancel);
    outlook_.candidates = candidates::generate(input_);
    drop_skipped();
    std::erase_if(outlook_.candidates,
                  [&](const Candidate& c) { return candidates::rough_minutes(input_, c) > within_minutes_; });
    std::vector<Test> tests = predict_tests(outlook_.rough);
    outlook_.alike = find_alike(outlook_.suspects, outlook_.rough);
    outlook_.tests = candidates::choose_tests(std::move(tests), outlook_.suspects, kMostTests);
    const job::Kit& kit = session_.job.kit;
    outlook_.built = candidates::build_problem({input_, outlook_.candidates, outlook_.tests, outlook_.suspects,
                                                kit.money_per_hour, kit.fetch_minutes, return_minutes(kit)});
    const base::Result<base::Done> valid = plan::validate(outlook_.built.problem);
    HS_CHECK(valid.ok(), "an invalid planning problem: " + (valid.ok() ? "" : valid.diagnostics().front().message));
    return std::move(outlook_);
  }

 private:
  void drop_skipped() {
    if (session_.job.skipped.empty()) return;
    std::erase_if(outlook_.candidates, [&](const Candidate& c) {
      const std::string what = evidence::format_observable(session_.drawing(), session_.loom().netlist, c.what);
      return std::find(session_.job.skipped.begin(), session_.job.skipped.end(), what) != session_.job.skipped.end();
    });
  }

  // All candidates by each suspect's likeliest severity, then the most telling ones by all its severities.
  std::vector<Test> predict_tests(std::vector<Test>& roughly) {
    std::vector<std::size_t> all(outlook_.candidates.size());
    std::iota(all.begin(), all.end(), std::size_t{0});
    std::vector<SuspectRows> likeliest = outlook_.suspects;
    for (SuspectRows& suspect : likeliest)
      if (!suspect.rows.empty()) suspect.rows = {{suspect.rows.front().first, 1.0}};
    roughly = predict_tests(all, likeliest);
    std::vector<std::size_t> telling;
    for (const Test& test : candidates::choose_tests(roughly, likeliest, kMostLookedAt))
      telling.push_back(test.candidate);
    std::sort(telling.begin(), telling.end());
    return predict_tests(telling, outlook_.suspects);
  }

  std::vector<Test> predict_tests(const std::vector<std::size_t>& which, std::vector<SuspectRows> suspects) {
    const std::vector<predict::Case> cases = small_cases(engine_, belief_, session_.repaired, suspects);
    std::vector<evidence::Observable> observables;
    for (const std::size_t i : which) observables.push_back(outlook_.candidates[i].what);
    const evidence::ResponseTable table = engine_.forecast(cases, observables, context_.cancel);
    infer::Noise noise = engine_.noise();
    noise.healthy_beyond_drawing = belief_.healthy_beyond;
    std::vector<Test> tests;
    for (std::size_t c = 0; c < which.size(); ++c) {
      const Candidate& candidate = outlook_.candidates[which[c]];
      Test test =
          candidates::make_test(session_.drawing(), candidate, which[c], table, c, suspects, cases.size() - 1, noise,
                                engine_.read_again(session_.evidence, candidate.what, session_.repaired));
      test.rough_minutes = candidates::rough_minutes(input_, candidate);
      tests.push_back(std::move(test));
    }
    return tests;
  }

  Context& context_;
  Session& session_;
  BeliefEngine& engine_;
  const Belief& belief_;
  Outlook outlook_;
  candidates::GenerateInput input_;
  double within_minutes_;
  Mended mended_;
};

}  // namespace

double return_minutes(const job::Kit& kit) {
  constexpr double kBeginAnew = 30.0;  // ours: to be told, to open it up, to find out where one was
  return kit.road_minutes + kBeginAnew;
}

Outlook look_ahead(Context& context, Session& session, double within_minutes, Mended mended) {
  return Forecaster(context, session, within_minutes, mended).run();
}

}  // namespace halfsplit::app
