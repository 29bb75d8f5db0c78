// SPDX-License-Identifier: Apache-2.0
// The best possible plan of a small problem: dynamic programming over (what is still possible, setups, what is left to
// do), cut by lower bounds. Minutes. Deterministic. Gives up, and says so, when it has visited too many states.
#pragma once

#include <cstddef>
#include <limits>
#include <vector>

#include "base/cancel.h"
#include "plan/decide.h"
#include "plan/memo.h"
#include "plan/situation.h"
#include "plan/survey.h"

namespace halfsplit::plan {

struct ExactOptions {
  std::size_t max_states = 2'000'000;
  // A plan this cheap is known (infinite: none is); dearer ones are not looked at.
  double known_minutes = std::numeric_limits<double>::infinity();
  base::CancelToken cancel;
};

struct ExactResult {
  bool complete = false;      // false: gave up; the rest means nothing then
  double minutes = 0.0;       // least expected minutes to the end
  std::vector<Action> first;  // every action that starts a best plan (to 1e-9), tests before repairs; or kStop alone
  std::size_t states = 0;
};

[[nodiscard]] ExactResult solve_exact(const Problem& problem, const Situation& from, const ExactOptions& options = {});
[[nodiscard]] ExactResult solve_exact(const Problem& problem, const ExactOptions& options = {});

// The search itself, for those who ask it about many places of one problem (tree.h, lookahead.h). Uses the survey's
// buffers.
class ExactSearch {
 public:
  ExactSearch(Survey& survey, std::size_t max_states, const base::CancelToken& cancel);

  ExactResult solve(const Situation& from, double known_minutes = std::numeric_limits<double>::infinity());
  // Least minutes to the end, mass-weighted; at `limit` or above: only a lower bound of it. Void once stopped().
  double value(const Belief& belief, SetNumber made, TestList tests, double limit);
  // The same for one first step.
  double value_of(const Belief& belief, const std::vector<Step>& steps, const Step& step, double limit);
  // For a start with other weights.
  void forget() { memo_.clear(); }
  // So many states more, and a new chance if it had stopped.
  void allow(std::size_t states) {
    max_states_ = states_ + states;
    stopped_ = false;
  }
  [[nodiscard]] bool stopped() const { return stopped_; }
  [[nodiscard]] std::size_t states() const { return states_; }

 private:
  struct Entry {
    double per_mass = 0.0;
    bool exact = false;
  };
  struct Child {
    Belief belief;
    std::size_t outcome = 0;
    double low = 0.0;
  };
  struct Frame {
    std::vector<Step> steps;
    std::vector<std::uint16_t> tests;
    std::vector<Child> children;
    std::vector<Fingerprint> parted;
  };

  double visit(const Belief& belief, SetNumber made, TestList tests, double limit, std::size_t depth);
  void try_first_steps(const Belief& belief, const std::vector<Step>& steps, double known_minutes, ExactResult& result);
  double best_of(const Belief& belief, Frame& frame, double limit, std::size_t depth, bool& exact);
  double step_value(const Belief& belief, const std::vector<Step>& steps, const Step& step, double limit,
                    std::size_t depth);
  [[nodiscard]] double told_outright(const Belief& belief, const Step& step);
  void list_children(const Belief& belief, const Step& step, std::vector<Child>& children);

  Survey* survey_;
  std::size_t max_states_;
  base::CancelToken cancel_;
  Memo<Entry> memo_;
  Frames<Frame> frames_;
  std::size_t states_ = 0;
  bool stopped_ = false;
};

}  // namespace halfsplit::plan
