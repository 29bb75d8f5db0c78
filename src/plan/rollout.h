// SPDX-License-Identifier: Apache-2.0
// What the rule of thumb (greedy.h, thrift) costs from any place of the search to the end of the job, followed through
// every outcome: an expected value, not a sample, and never below the best plan. Mass-weighted minutes. Branches too
// unlikely to matter are closed with a plainer plan whose cost is counted in full. Uses the survey's buffers; remembers
// the places it has been to.
#pragma once

#include <cstddef>
#include <vector>

#include "plan/greedy.h"
#include "plan/memo.h"
#include "plan/survey.h"

namespace halfsplit::plan {

class Rollout {
 public:
  explicit Rollout(Survey& survey) : survey_(&survey) {}

  // A branch lighter than `floor` is closed with the plainest plan.
  [[nodiscard]] double value(const Belief& belief, SetNumber made, TestList tests, double floor);
  // Of the plainest plan: repairs by falling p over c; goal kIsolate: every test left in turn.
  [[nodiscard]] double plain_value(const Belief& belief, SetNumber made, TestList tests);
  // Forgets the places: for a start whose survey().seen() begins anew.
  void forget() { memo_.clear(); }
  [[nodiscard]] std::size_t work() const { return work_; }

 private:
  struct Frame {
    std::vector<Step> steps;
    std::vector<std::uint16_t> tests;
  };
  // A repair still to come in the plainest plan.
  struct Turn {
    double mass = 0.0;
    std::uint16_t repair = 0;
  };

  double visit(const Belief& belief, SetNumber made, TestList tests, std::size_t depth);
  [[nodiscard]] bool choose(const Belief& belief, SetNumber made, TestList tests, Frame& frame, Step& step);
  double follow(const Belief& belief, TestList tests, const Step& step, std::size_t depth);
  [[nodiscard]] double repairs_in_turn(const Belief& belief, SetNumber from);
  [[nodiscard]] double tests_in_turn(const Belief& belief, SetNumber from, TestList tests) const;
  void list_turns(const Belief& belief);
  [[nodiscard]] SetupMoves::Reached trip_to(const SetupSet& made, std::size_t repair) const;
  [[nodiscard]] std::size_t best_turn(const SetupSet& made, std::size_t begin, std::size_t end) const;
  double mend_shared(const Belief& belief, std::size_t repair);

  Survey* survey_;
  Thrift thrift_;
  Memo<double> memo_;  // minutes per mass
  Frames<Frame> frames_;
  std::vector<Turn> turns_;
  std::vector<std::size_t> place_;  // by repair: where in turns_ it was put
  std::vector<double> weight_;      // by fault
  bool shared_ = false;             // do repairs overlap?
  double floor_ = 0.0;
  std::size_t work_ = 0;
};

}  // namespace halfsplit::plan
