// SPDX-License-Identifier: Apache-2.0
// Checks a planning problem part by part and reports everything that is wrong with it at once.
#include "plan/problem.h"

#include <cmath>
#include <string>

#include "base/number.h"
#include "plan/setups.h"

namespace halfsplit::plan {

namespace {

constexpr double kSumTolerance = 1e-6;
constexpr std::size_t kMaxFaults = 60'000;
constexpr std::size_t kMaxOutcomes = 255;

std::string number_text(double value) {
  return std::isfinite(value) ? base::format_number(value) : "not a finite number";
}

class Validator {
 public:
  explicit Validator(const Problem& problem) : problem_(problem) {}

  std::vector<base::Diagnostic> run() {
    check_faults();
    check_setups();
    if (!errors_.empty()) return errors_;  // the rest would stumble over the same
    check_initial_setups();
    for (const Test& test : problem_.tests) check_test(test);
    check_repairs();
    check_minutes("the check", problem_.check.minutes);
    check_conditions("the check", problem_.check.conditions);
    return errors_;
  }

 private:
  void add(const char* code, std::string message, std::string hint = "") {
    errors_.push_back(base::make_error(code, std::move(message), std::move(hint)));
  }

  void check_minutes(const std::string& what, double minutes) {
    if (std::isfinite(minutes) && minutes >= 0.0) return;
    add("plan.bad-minutes", "the minutes of " + what + " are " + number_text(minutes),
        "give a finite number, 0 or more");
  }

  void check_faults() {
    if (problem_.faults.empty()) add("plan.no-fault", "a plan needs at least one possible fault");
    if (problem_.faults.size() > kMaxFaults) add("plan.bad-prior", "more than 60000 faults");
    double sum = 0.0;
    for (const Fault& fault : problem_.faults) {
      sum += fault.prior;
      if (!std::isfinite(fault.prior) || fault.prior < 0.0) {
        add("plan.bad-prior", "fault " + fault.name + " has probability " + number_text(fault.prior),
            "give a number from 0 to 1");
      }
    }
    if (!problem_.faults.empty() && !(std::abs(sum - 1.0) <= kSumTolerance)) {
      add("plan.priors-sum", "the faults' probabilities sum to " + number_text(sum),
          "exactly one fault is present, so they must sum to 1");
    }
  }

  void check_setups() {
    if (problem_.setups.size() > kMaxSetups) {
      add("plan.too-many-setups", std::to_string(problem_.setups.size()) + " setups", "at most 256 in one plan");
      return;
    }
    for (std::size_t i = 0; i < problem_.setups.size(); ++i) {
      const Setup& setup = problem_.setups[i];
      check_minutes("making " + setup.name, setup.do_minutes);
      check_minutes("undoing " + setup.name, setup.undo_minutes);
      check_known("setup " + setup.name, setup.needs | setup.excludes);
      if (setup.excludes.contains(SetupId(i))) add("plan.setup-conflict", "setup " + setup.name + " excludes itself");
    }
    if (errors_.empty()) check_circles();
  }

  void check_circles() {
    for (std::size_t i = 0; i < problem_.setups.size(); ++i) {
      if (!close_over_needs(problem_.setups, problem_.setups[i].needs).contains(SetupId(i))) continue;
      add("plan.needs-circle", "setup " + problem_.setups[i].name + " needs itself, by way of others or at once",
          "no order of making them is possible; take one need out");
    }
  }

  void check_known(const std::string& what, const SetupSet& named) {
    named.for_each([&](SetupId s) {
      if (s.index() >= problem_.setups.size()) {
        add("plan.unknown-setup", what + " names setup number " + std::to_string(s.index()) + " of " +
                                      std::to_string(problem_.setups.size()));
      }
    });
  }

  void check_initial_setups() {
    const std::size_t before = errors_.size();
    check_known("the start", problem_.initial_setups);
    if (errors_.size() != before) return;
    if (close_over_needs(problem_.setups, problem_.initial_setups) != problem_.initial_setups) {
      add("plan.initial-setups", "a setup made at the start lacks one that it needs", "add what it needs to the start");
    }
    if (has_conflict(problem_.setups, problem_.initial_setups)) {
      add("plan.initial-setups", "two setups made at the start exclude each other");
    }
  }

  void check_conditions(const std::string& what, const Conditions& conditions) {
    const std::size_t before = errors_.size();
    check_known(what, conditions.needs | conditions.forbids);
    if (errors_.size() != before) return;
    const SetupSet wanted = close_over_needs(problem_.setups, conditions.needs);
    if (!wanted.meets(conditions.forbids) && !has_conflict(problem_.setups, wanted)) return;
    add("plan.setup-conflict", "the setups of " + what + " cannot all be met",
        "something it needs is forbidden or excluded by another thing it needs");
  }

  void check_test(const Test& test) {
    const std::string what = "test " + test.name;
    check_minutes(what, test.minutes);
    check_minutes(what, test.extra_minutes);
    check_conditions(what, test.conditions);
    const std::size_t outcomes = test.outcomes.size();
    if (outcomes > kMaxOutcomes) {
      add("plan.too-many-outcomes", what + " has " + std::to_string(outcomes) + " outcomes", "at most 255");
    }
    if (outcomes == 0 || test.table.size() != outcomes * problem_.faults.size()) {
      add("plan.bad-table", what + " has " + std::to_string(test.table.size()) + " probabilities for " +
                                std::to_string(outcomes) + " outcomes and " + std::to_string(problem_.faults.size()) +
                                " faults");
      return;
    }
    for (std::size_t f = 0; f < problem_.faults.size(); ++f) check_row(what, test, f);
  }

  void check_row(const std::string& what, const Test& test, std::size_t fault) {
    double sum = 0.0;
    bool sound = true;
    for (std::size_t o = 0; o < test.outcomes.size(); ++o) {
      const double p = test.table[fault * test.outcomes.size() + o];
      sound = sound && p >= 0.0 && p <= 1.0 + kSumTolerance;
      sum += p;
    }
    if (sound && std::abs(sum - 1.0) <= kSumTolerance) return;
    add("plan.bad-table",
        what + ": the outcomes under fault " + problem_.faults[fault].name + " sum to " + number_text(sum),
        "each is from 0 to 1 and together they make 1");
  }

  void check_repairs() {
    std::vector<bool> covered(problem_.faults.size(), false);
    for (const Repair& repair : problem_.repairs) {
      check_minutes("repair " + repair.name, repair.minutes);
      check_minutes("repair " + repair.name, repair.extra_minutes);
      check_conditions("repair " + repair.name, repair.conditions);
      for (const FaultId fault : repair.mends) {
        if (fault.index() < covered.size()) {
          covered[fault.index()] = true;
        } else {
          add("plan.unknown-fault", "repair " + repair.name + " names a fault that is not in the list");
        }
      }
    }
    for (std::size_t f = 0; f < covered.size() && problem_.goal == Goal::kRepair; ++f) {
      if (covered[f] || problem_.faults[f].prior <= 0.0) continue;
      add("plan.no-repair", "no repair mends fault " + problem_.faults[f].name,
          "give it one, if only handing the job over at its cost");
    }
  }

  const Problem& problem_;
  std::vector<base::Diagnostic> errors_;
};

}  // namespace

base::Result<base::Done> validate(const Problem& problem) {
  std::vector<base::Diagnostic> errors = Validator(problem).run();
  if (!errors.empty()) return errors;
  return base::Done{};
}

}  // namespace halfsplit::plan
