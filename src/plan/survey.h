// SPDX-License-Identifier: Apache-2.0
// All that can sensibly be done in one place of the search, with what it costs and what it tells: the one pass over the
// tests that the greedy rules, the exact search and the lookahead share. Belongs to one caller; no memory is taken once
// it is warm.
#pragma once

#include <deque>
#include <vector>

#include "plan/bounds.h"
#include "plan/gain.h"
#include "plan/situation.h"

namespace halfsplit::plan {

struct Step {
  ActionKind kind = ActionKind::kTest;
  std::uint16_t index = 0;
  SetNumber to = 0;      // setups after it (after a repair: after its check)
  double minutes = 0.0;  // setups and the action; a repair with the way to its check and the check
  // Mass-weighted: what the step adds to the unavoidable minutes, behind and ahead; so what finding out costs here.
  double waste = 0.0;
  double bits = 0.0;   // mass-weighted bits about the repair class
  double value = 0.0;  // free for the caller
};

struct Surroundings {
  double unavoidable = 0.0;  // mass-weighted, from here
  double class_bits = 0.0;   // mass-weighted
  double group_bits = 0.0;
  bool ended = false;  // goal kIsolate: isolated
};

class Survey {
 public:
  explicit Survey(const Model& model, const SetupSet& made);

  // What is known of a place at a glance. The belief must stay where it is until list() is done.
  Surroundings glance(const Belief& belief, SetNumber made);
  // Then: lists into `steps` the tests of `tests` that tell anything and the repairs that may mend, tests first, by
  // number, with waste and bits. A place that has ended gets no steps.
  void list(const Belief& belief, SetNumber made, TestList tests, const Surroundings& around, std::vector<Step>& steps);

  // Mass-weighted: no plan from here is cheaper. After glance().
  [[nodiscard]] double bound(const Belief& belief, SetNumber made, const Surroundings& around);
  // Step::value becomes a lower bound, mass-weighted, of any plan that starts with the step. Right after list().
  void bound_steps(const Belief& belief, const Surroundings& around, std::vector<Step>& steps);
  // Does an earlier test of `parted` tell the same of the faults left? A sure one then parts them alike and ends in the
  // same setups; an uncertain one has the same rows and asks for the same setups. If not, it is added.
  [[nodiscard]] bool is_repeat(const Belief& belief, const Step& step, std::vector<Fingerprint>& parted) const;

  [[nodiscard]] const Model& model() const { return *model_; }
  [[nodiscard]] SetupMoves& moves() { return moves_; }
  [[nodiscard]] Bounds& bounds() { return bounds_; }
  [[nodiscard]] BeliefStack& stack() { return stack_; }
  [[nodiscard]] Gain& gain() { return gain_; }
  [[nodiscard]] SetNumber start() const { return start_; }
  [[nodiscard]] Fingerprint print(const Belief& belief, SetNumber made) const {
    return fingerprint(*model_, belief, seen_, made);
  }
  [[nodiscard]] std::vector<Seen>& seen() { return seen_; }
  // Goal kIsolate: does one repair mend all that is left, or is one fault left?
  [[nodiscard]] bool is_isolated(const Belief& belief) const;

 private:
  [[nodiscard]] double unavoidable_after(SetNumber to);
  [[nodiscard]] Fingerprint parts_print(const Belief& belief, const Step& step) const;
  [[nodiscard]] double most_leak(const Belief& belief, std::size_t test) const;
  void add_tests(const Belief& belief, SetNumber made, TestList tests, double before, std::vector<Step>& steps);
  void add_repairs(const Belief& belief, SetNumber made, double before, std::vector<Step>& steps);

  const Model* model_;
  SetupMoves moves_;
  SetNumber start_;
  Bounds bounds_;
  BeliefStack stack_;
  Gain gain_;
  std::vector<Seen> seen_;  // the uncertain outcomes on the way down to the present place
  // What a repair leads to, while add_repairs goes over the classes it mends.
  struct RepairPlan {
    double minutes = 0.0;
    SetNumber to = 0;
    double mended_unavoidable = 0.0;  // mass-weighted, from `to`, of the faults it mends
  };
  struct Known {
    std::uint64_t stamp = 0;
    double sum = 0.0;
  };
  std::vector<Known> known_;  // by set: the belief's unavoidable minutes there
  std::uint64_t stamp_ = 0;
  std::vector<RepairPlan> plans_;  // of add_repairs, by repair
};

// Buffers by depth that keep their memory; a deque, because deeper ones are added while shallower ones are in use.
template <class Frame>
class Frames {
 public:
  Frame& at(std::size_t depth) {
    while (frames_.size() <= depth) frames_.emplace_back();
    return frames_[depth];
  }

 private:
  std::deque<Frame> frames_;
};

// Where a search starts: the situation folded and scaled to mass 1.
struct Start {
  Belief belief;
  SetNumber made = 0;
  std::vector<std::uint16_t> tests;      // left and not dominated
  std::vector<std::uint16_t> all_tests;  // left
};
[[nodiscard]] Start start_at(Survey& survey, const Situation& from);

// The tests of a list of steps but one: what is left to do below it.
void remaining_tests(const std::vector<Step>& steps, const Step& taken, std::vector<std::uint16_t>& out);

}  // namespace halfsplit::plan
